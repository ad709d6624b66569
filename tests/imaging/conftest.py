"""The generator of photographs, for every test of this folder."""

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture(scope="session")
def photos() -> ModuleType:
    """Return the module that makes photographs."""
    name = "laydown_test_photographs"
    if name not in sys.modules:
        path = Path(__file__).parent / "photographs.py"
        spec = importlib.util.spec_from_file_location(name, path)
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    return sys.modules[name]
