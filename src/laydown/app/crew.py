"""Long work cut into parts: done here one after the other, or by a crew of processes.

A crew is Dask's: processes of this computer, or those of a scheduler that is running somewhere. The
parts are the same, what is made of each depends on nothing else, and they are put together in
their order: so the answer is the same, byte for byte, however many hands there were. A part whose
process died is done anew by another.
"""

import logging
import math
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from importlib.metadata import version
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from laydown.errors import CrewError
from laydown.match.ranking import Watch

if TYPE_CHECKING:
    from distributed import Client

Part = TypeVar("Part")
Answer = TypeVar("Answer")
Part_contra = TypeVar("Part_contra", contravariant=True)
Answer_co = TypeVar("Answer_co", covariant=True)

BLOCKS_EACH = 2
"""Parts are handed out in so many blocks to each process: a table of recipes is made once in each,
and the slowest is not waited for too long."""
PATIENCE = 10
"""How long a scheduler is waited for [s]."""
MUST_AGREE = ("laydown", "numpy", "scipy", "numba")
"""Packages on which answers rest."""


class Worker(Protocol[Part_contra, Answer_co]):
    """What makes an answer of a part."""

    def __call__(self, part: Part_contra, /, watch: Watch | None = None) -> Answer_co:
        """Make it; `watch` is told (done, total) of this part, and may raise."""


_Crew = tuple["Client", int]
"""Who hands parts out, and to how many processes."""
_crew: ContextVar[_Crew | None] = ContextVar("crew", default=None)


def each(
    make: Callable[[], Worker[Part, Answer]], parts: Sequence[Part], watch: Watch | None = None
) -> list[Answer]:
    """Return what a worker makes of each part, in their order.

    `make`: makes the worker, here or in a process of the crew: such as a `functools.partial` of a
    class and what it needs, all of which can be pickled.
    """
    crew = _crew.get()
    if crew is None or len(parts) < BLOCKS_EACH:
        worker = make()
        return [
            worker(part, _part(watch, done, len(parts)))
            for done, part in enumerate(parts)
            if _tell(watch, done, len(parts))
        ]
    return _by_crew(crew, make, parts, watch)


def _tell(watch: Watch | None, done: int, total: int) -> bool:
    if watch is not None:
        watch(done, total)
    return True


def _part(watch: Watch | None, done: int, parts: int) -> Watch | None:
    """Return a watch for one part, which counts over all of them."""
    if watch is None:
        return None
    return lambda part, whole: watch(done * whole + part, parts * whole)


def _by_crew(
    crew: _Crew,
    make: Callable[[], Worker[Part, Answer]],
    parts: Sequence[Part],
    watch: Watch | None,
) -> list[Answer]:
    from distributed import KilledWorker, as_completed  # noqa: PLC0415 - only where asked for

    client, hands = crew
    size = math.ceil(len(parts) / (BLOCKS_EACH * hands))
    blocks = [parts[start : start + size] for start in range(0, len(parts), size)]
    # a task, not scattered: what is scattered dies with the one process that holds it
    shared, done = client.submit(_itself, make, pure=False), 0
    asked = [client.submit(_block, shared, block, pure=False) for block in blocks]
    places = {future: place for place, future in enumerate(asked)}
    answers: list[list[Answer]] = [[] for _ in blocks]
    try:
        for future in as_completed(asked):
            answers[places[future]] = future.result()
            done += len(blocks[places[future]])
            _tell(watch, done, len(parts))
    except KilledWorker as error:
        raise CrewError(
            "The processes that were to do this died, one after the other.",
            hint="Is there memory enough? Take fewer, or do without.",
            command="--workers",
        ) from error
    finally:
        client.cancel([shared, *asked])
    return [answer for block in answers for answer in block]


def _itself(given: Answer) -> Answer:
    return given


_ready: list[tuple[object, Any]] = []
"""In a process of the crew: what was last made, and what makes it, for its further blocks."""


def _block(make: Callable[[], Worker[Part, Answer]], parts: Sequence[Part]) -> list[Answer]:
    if not _ready or _ready[0][0] is not make:
        _ready[:] = [(make, make())]
    worker: Worker[Part, Answer] = _ready[0][1]
    return [worker(part) for part in parts]


@contextmanager
def crew(*, workers: int = 0, cluster: str = "") -> Iterator[None]:
    """Have what `each` is asked within done by several processes.

    `workers`: how many processes of this computer; 0 for none. `cluster`: address of a Dask
    scheduler that runs already, such as ``tcp://10.0.0.5:8786``. Raises `CrewError` where Dask
    isn't installed, a scheduler can't be reached, or its processes have other versions than we
    have.
    """
    if not workers and not cluster:
        yield
        return
    try:
        from distributed import Client, LocalCluster  # noqa: PLC0415 - only where asked for
    except ModuleNotFoundError as error:
        raise CrewError(
            "To work with several processes, Dask must be installed.",
            hint="Install it with: pip install 'laydown[cluster]'",
        ) from error
    logging.getLogger("distributed").setLevel(logging.CRITICAL)  # what matters, we say ourselves
    if cluster:
        with _reached(Client, cluster) as client:
            yield from _at_work(client)
        return
    with (
        LocalCluster(
            n_workers=workers,
            threads_per_worker=1,
            host="127.0.0.1",
            dashboard_address="127.0.0.1:0",
            memory_limit=0,
            env={"NUMBA_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
        ) as own,
        Client(own) as client,
    ):
        yield from _at_work(client)


def _at_work(client: "Client") -> Iterator[None]:
    from dask import config  # noqa: PLC0415 - only where asked for

    hands = len(client.scheduler_info(n_workers=-1)["workers"])
    if not hands:
        raise CrewError(
            "The scheduler has no workers.", hint="Start some with: dask worker ADDRESS"
        )
    _check_versions(client)
    mark = _crew.set((client, hands))
    try:
        with config.set({"distributed.admin.large-graph-warning-threshold": "1 GB"}):
            yield
    finally:
        _crew.reset(mark)


def _reached(connect: Callable[..., "Client"], address: str) -> "Client":
    try:
        return connect(address, timeout=PATIENCE)
    except (OSError, ValueError) as error:
        raise CrewError(
            f"No scheduler answers at {address}.",
            hint="Start one with “dask scheduler”, and give the address that it tells.",
            command="--cluster",
        ) from error


def _versions() -> dict[str, str]:
    return {name: version(name) for name in MUST_AGREE}


def _check_versions(client: "Client") -> None:
    """Refuse a crew with other versions of what answers rest on."""
    ours = _versions()
    try:
        theirs = client.run(_versions)
    except ModuleNotFoundError as error:
        raise CrewError(
            "A worker of the cluster has no laydown.", hint="Install the same there as here."
        ) from error
    for address, found in theirs.items():
        odd = [name for name in MUST_AGREE if found[name] != ours[name]]
        if odd:
            raise CrewError(
                f"The worker {address} has {odd[0]} {found[odd[0]]}, not {ours[odd[0]]}.",
                hint="Install the same there as here: else answers would depend on who worked.",
            )
