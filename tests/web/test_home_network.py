import pytest

from laydown.errors import NotLetInError
from laydown.web.phone import checked_address


@pytest.mark.parametrize("address", ["10.0.0.5", "172.16.9.1", "192.168.178.20", "169.254.3.4"])
def test_the_bench_opens_to_a_home_network(address: str) -> None:
    """Addresses that no way from outside leads to (RFC 1918, RFC 3927) are taken."""
    assert checked_address(address) == address


@pytest.mark.parametrize("address", ["8.8.8.8", "172.32.0.1", "127.0.0.1", "0.0.0.0", "100.64.0.1"])
def test_it_opens_to_nothing_wider(address: str) -> None:
    """An address that others may reach, or that stands for all, is refused."""
    with pytest.raises(NotLetInError, match=address):
        checked_address(address)
