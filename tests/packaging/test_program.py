"""The built program in a bare root: no Python, no compiler, no fonts, no network, another user.

The root holds the C library and zlib of this system and nothing else; the program lies there in a
path with blanks and letters of other alphabets, where its user can't write. It needs the rights of
root to be made (``unshare``), which CI has.
"""

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PROGRAM = ROOT / "build" / "program" / "laydown"
PLACE = Path("srv/Müller’s 色 box/laydown")
LIBRARIES = ("ld-linux-x86-64.so.2", "libc.so.6", "libm.so.6", "libz.so.1", "libdl.so.2")
LIBRARIES += ("libpthread.so.0", "librt.so.1", "libutil.so.1")
NOBODY = 65534
SWATCHES = "orchard_on_gannet_smooth.csv"

pytestmark = pytest.mark.skipif(
    os.geteuid() != 0 and not os.environ.get("CI"), reason="a bare root needs the rights of root"
)


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A root with the program in it, and the home of one user who has brought swatches in."""
    root = tmp_path_factory.mktemp("bare")
    root.chmod(0o755)
    libraries = root / "lib/x86_64-linux-gnu"
    libraries.mkdir(parents=True)
    for name in LIBRARIES:
        shutil.copy(Path("/lib/x86_64-linux-gnu") / name, libraries)
    (root / "lib64").symlink_to("lib/x86_64-linux-gnu")
    for folder in ("tmp", "dev/shm", "home/ann"):
        (root / folder).mkdir(parents=True)
        (root / folder).chmod(0o1777)
    for name, number in (("null", 3), ("urandom", 9)):
        os.mknod(root / "dev" / name, 0o020666, os.makedev(1, number))
        (root / "dev" / name).chmod(0o666)
    shutil.copytree(PROGRAM, root / PLACE, symlinks=True)
    shutil.copy(ROOT / "src/laydown/demo/data" / SWATCHES, root / "home/ann")
    os.chown(root / "home/ann", NOBODY, NOBODY)
    before = files_of_others(root)
    brought = run(root, "swatches", "import", SWATCHES)
    assert brought.returncode == 0, brought.stderr
    assert files_of_others(root) == before
    yield root
    shutil.rmtree(root, ignore_errors=True)


def inside(root: Path, *words: str) -> list[str]:
    """Return the command that runs the program in the root, as nobody."""
    ids = ["--setuid", str(NOBODY), "--setgid", str(NOBODY)]
    where = ["--root", str(root), "--wd", "/home/ann"]
    return ["unshare", "--net", *where, *ids, "--", f"/{PLACE}/laydown", *words]


def run(root: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run the program in the root, with nothing in its environment but a home."""
    return subprocess.run(
        inside(root, *words),
        env={"HOME": "/home/ann"},
        check=False,
        capture_output=True,
        text=True,
        timeout=300,
    )


def files_of_others(root: Path) -> set[str]:
    """Return every path of the root but those in its user's own data and cache folders."""
    own = (root / "home/ann/.cache/laydown", root / "home/ann/.local/share/laydown")
    kept = {root / "home/ann/.cache", root / "home/ann/.local", root / "home/ann/.local/share"}
    paths = {path for path in root.rglob("*") if not any(path.is_relative_to(one) for one in own)}
    return {str(path) for path in paths - kept}


def test_the_first_recipe_comes_at_once_and_so_does_the_second(bare: Path) -> None:
    """A color is answered, and nothing has to be compiled for it, the first time neither."""
    before = files_of_others(bare)
    for _ in range(2):
        asked = ["match", "lab:71,8,46", "--range", "Orchard", "--paper", "Gannet smooth"]
        answered = run(bare, *asked, "--json")
        assert answered.returncode == 0, answered.stderr
        assert json.loads(answered.stdout)["best"]
        assert "Preparing the search" not in answered.stderr
        assert "Warning" not in answered.stderr
    assert files_of_others(bare) == before


def test_a_chart_is_printed_where_no_font_is(bare: Path) -> None:
    """The typeface comes with the program."""
    home = bare / "home/ann"
    (home / "colors.csv").write_text('name,color\nSky,"lab:70,-5,-20"\n', encoding="utf-8")
    asked = ["chart", "colors.csv", "--range", "Orchard", "--paper", "Gannet smooth"]
    made = run(bare, *asked, "-o", "chart.pdf")
    assert made.returncode == 0, made.stderr
    assert (home / "chart.pdf").read_bytes().startswith(b"%PDF")
    (home / "chart.pdf").unlink()


BENCH = """
import fcntl, http.client, json, re, socket, struct, subprocess, sys, time
with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as any_socket:  # the way to oneself is down
    fcntl.ioctl(any_socket, 0x8914, struct.pack("16sh14x", b"lo", 0x1 | 0x40))
command = json.loads(sys.argv[1])
say = {"stdout": subprocess.PIPE, "stderr": subprocess.STDOUT, "text": True}
first = subprocess.Popen([*command, "serve", "--no-browser"], **say)
line = first.stdout.readline()
key = re.search(r"(/open[?]key=\\S+)", line)[1]

def ask(path, cookie=""):
    line = http.client.HTTPConnection("127.0.0.1", 8017, timeout=120)
    line.request("GET", path, headers={"Cookie": cookie} if cookie else {})
    answer = line.getresponse()
    return answer.status, answer.getheader("Set-Cookie") or "", answer.read().decode()

stranger = ask("/")[0]
cookie = ask(key)[1].split(";")[0]
color = "/color.json?wanted=lab:71,8,46&range=Orchard&paper=Gannet+smooth"
status, _, page = ask(color, cookie)
shown = ask("/stop", cookie)[2], ask("/static/licences.html", cookie)[2]
second = subprocess.run([*command, "serve", "--no-browser"], timeout=120, **say)
closed = subprocess.run([*command, "serve", "--stop"], timeout=120, **say)
left, _ = first.communicate(timeout=120)
print(json.dumps({"stranger": stranger, "status": status, "page": page, "shown": shown,
    "second": second.stdout, "closed": closed.stdout, "left": first.returncode, "said": left}))
"""


def test_the_bench_opens_is_found_and_is_closed_with_the_network_cut(bare: Path) -> None:
    """It answers its own browser alone; a second start finds it; closing says so."""
    command = inside(bare)
    command.remove("--net")  # the driver has it cut for all of them
    done = subprocess.run(
        ["unshare", "--net", sys.executable, "-c", BENCH, json.dumps(command)],
        env={"HOME": "/home/ann", "PATH": os.environ["PATH"]},
        check=False,
        capture_output=True,
        text=True,
        timeout=500,
    )
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert (found["stranger"], found["status"], found["left"]) == (403, 200, 0)
    assert json.loads(found["page"])["best"]
    assert 'href="/static/licences.html"' in found["shown"][0]
    assert "Each part may be passed on under its licence." in found["shown"][1]
    assert "open already" in found["second"]
    assert "put away" in found["closed"]
