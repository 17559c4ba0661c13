"""The shop folder read, only the tables asked for, each checked whole; and the built-in one copied out."""

import shutil
import tempfile
from collections.abc import Callable, Collection, Mapping
from functools import cache
from pathlib import Path
from typing import Any, NoReturn, TypeVar

from flangewise.faults import Fault, Unusable, name_fits
from flangewise.records import dataclass, field
from flangewise.shop.boxes import PartsBox
from flangewise.shop.defaults import ANY, Defaults
from flangewise.shop.machines import Handler, Machine
from flangewise.shop.materials import GaugeFamily, LeastRadius, Material, ThicknessTolerance
from flangewise.shop.measured import MeasuredBends, read_measured
from flangewise.shop.row import TableRow
from flangewise.shop.table import built_in_one, built_in_rows, one_row, read_one, read_rows
from flangewise.shop.tools import Die, Punch
from flangewise.shop.trusted import Context

ResultT = TypeVar("ResultT")

# The tables by name, the row each holds, and those that a shop folder may leave to the built-in ones.
ROWS: dict[str, type[TableRow]] = {
    "materials": Material,
    "punches": Punch,
    "dies": Die,
    "machines": Machine,
    "handlers": Handler,
    "gauges": GaugeFamily,
    "least_radii": LeastRadius,
    "tolerances": ThicknessTolerance,
    "boxes": PartsBox,
}
TABLES = frozenset(ROWS)
LEFT_TO_BUILT_IN = frozenset({"gauges", "least_radii", "tolerances", "boxes"})
MEASURED_FILE = "measured.csv"
BUILT_IN = Path(__file__).with_name("tables")


class NotAsked(Mapping[str, Any]):
    """A table that was not asked for: touching it is a mistake in the program, never an empty answer."""

    def __init__(self, table: str) -> None:
        self._table = table

    def _complain(self, *_: object) -> NoReturn:
        raise LookupError(f"table {self._table} was not asked for when the shop was loaded")

    __getitem__ = __iter__ = __len__ = _complain


@dataclass(frozen=True)
class Shop:
    """What the shop owns, tables of rows in file order and measured bends; `folder` None is the built-in shop."""

    folder: Path | None
    defaults: Defaults
    materials: Mapping[str, Material]
    punches: Mapping[str, Punch]
    dies: Mapping[str, Die]
    machines: Mapping[str, Machine]
    handlers: Mapping[str, Handler]
    gauges: Mapping[str, GaugeFamily]
    least_radii: Mapping[str, LeastRadius]
    tolerances: Mapping[str, ThicknessTolerance]
    boxes: Mapping[str, PartsBox]
    measured: MeasuredBends = field(default_factory=MeasuredBends)

    @property
    def measured_file(self) -> Path | None:
        """Where the shop's measured bends are kept, whether or not the file exists; None for the built-in shop."""
        return None if self.folder is None else self.folder / MEASURED_FILE

    @property
    def strongest_machine(self) -> Machine:
        """The machine a single bend is judged on: the default, or of several the strongest, so that what is refused is
        refused by all."""
        named = self.defaults.machines
        wanted = self.machines.values() if named == (ANY,) else [self.machines[name] for name in named]
        return max(wanted, key=lambda machine: machine.force_kn)


def load_shop(
    folder: Path | None = None, tables: Collection[str] = TABLES, *, only: Mapping[str, str | None] | None = None
) -> Shop:
    """The shop of a folder, or the built-in one, with the tables asked for; `shop.yaml` is always read.

    Tables a folder may leave out (gauges, least radii, tolerances) are then the built-in ones. `only` names the one row
    wanted of a table, None being the shop's default for `machines` and `handlers`: of the built-in tables just that row
    is then read, where it exists; of a folder's files all rows are, since all must hold. Raises Unusable with every
    fault of every file read.
    """
    unknown = set(tables) - TABLES
    if unknown:
        raise ValueError(f"no such table: {', '.join(sorted(unknown))}")
    if folder is not None and not folder.is_dir():
        fits = "give a folder that `flangewise shop copy` made"
        raise Unusable([Fault(str(folder), None, None, "shop", "is no folder", fits)])
    if folder is None:
        return _built_in(frozenset(tables), tuple(sorted((only or {}).items())))
    return _Loading(folder, frozenset(tables), dict(only or {})).shop()


@cache
def _built_in(tables: frozenset[str], only: tuple[tuple[str, str | None], ...]) -> Shop:
    """The built-in shop: it came with the package and does not change while the program runs."""
    return _Loading(None, tables, dict(only)).shop()


class _Loading:
    """One loading: the faults of all files come together before any is told."""

    def __init__(self, folder: Path | None, tables: frozenset[str], only: dict[str, str | None]) -> None:
        self.folder = folder
        self.tables = tables
        self.only = only
        self.faults: list[Fault] = []

    def shop(self) -> Shop:
        path, own = self._file("shop"), self.folder is not None
        defaults = self._gathered(lambda: read_one(path, Defaults)[0] if own else built_in_one(path, Defaults), None)
        if defaults is not None:
            alone = len(defaults.machines) == 1 and defaults.machines != (ANY,)
            named = {"machines": defaults.machines[0] if alone else None, "handlers": defaults.handler}
            self.only = {table: name or named.get(table) for table, name in self.only.items()}
        self._add_radii()
        radii = self._table("least_radii")
        context = {"least_radii": radii if isinstance(radii, NotAsked) or radii else None}
        tables: dict[str, Any] = {name: self._table(name, context) for name in ROWS if name != "least_radii"}
        tables["least_radii"] = radii
        # The measured bends belong to the materials: they are read with them.
        measured_file = self.folder / MEASURED_FILE if self.folder is not None and "materials" in self.tables else None
        tables["measured"] = self._gathered(lambda: read_measured(measured_file), MeasuredBends())
        if not self.faults and defaults is not None and self.folder is not None:
            self._check_names(defaults, tables)
        if self.faults or defaults is None:
            raise Unusable(self.faults)
        return Shop(folder=self.folder, defaults=defaults, **tables)

    def _add_radii(self) -> None:
        """Least radii, which materials need, asked for or not; of the one built-in material wanted its own alone."""
        if "materials" in self.tables and "least_radii" not in self.tables:
            self.tables |= {"least_radii"}
            material = self.only.get("materials")
            row = None if self.folder or material is None else one_row(BUILT_IN / "materials.yaml", material)
            self.only["least_radii"] = None if row is None else str(row[str(material)]["least_radius"])

    def _table(self, name: str, context: Context | None = None) -> Mapping[str, TableRow]:
        if name not in self.tables:
            return NotAsked(name)
        path, row = self._file(name), ROWS[name]
        if path.parent == BUILT_IN:
            return built_in_rows(path, row, context=context, only=self.only.get(name))
        return self._gathered(lambda: read_rows(path, row, context=context), {})

    def _file(self, name: str) -> Path:
        own = (self.folder or BUILT_IN) / f"{name}.yaml"
        return BUILT_IN / own.name if name in LEFT_TO_BUILT_IN and not own.exists() else own

    def _check_names(self, defaults: Defaults, tables: dict[str, Any]) -> None:
        named = [("machine", name, "machines") for name in defaults.machines if name != ANY]
        for key, name, table in (*named, ("handler", defaults.handler, "handlers")):
            if table in self.tables and name not in tables[table]:
                path = self._file("shop")
                line, column = read_one(path, Defaults)[1].place_of_key((key,))
                fits = name_fits(name, tables[table])
                self.faults.append(Fault(str(path), line, column, key, f"no row {name!r} in {table}.yaml", fits))

    def _gathered(self, read: Callable[[], ResultT], otherwise: ResultT) -> ResultT:
        try:
            return read()
        except Unusable as unusable:
            self.faults.extend(unusable.faults)
            return otherwise


def copy_shop(to: Path) -> tuple[Path, ...]:
    """Write the built-in tables, comments and sources included, to a folder; gives the files written.

    The folder must be new or empty: nothing is ever overwritten. It appears whole or not at all, and is as readable as
    any new folder. Raises Unusable where something stands in its place, OSError where it cannot be written.
    """
    if to.is_symlink() or (to.exists() and not to.is_dir()):
        raise Unusable([_taken(to, "is a file or a link")])
    if to.is_dir() and any(to.iterdir()):
        raise Unusable([_taken(to, "is not empty")])
    above = to.resolve().parent
    above.mkdir(parents=True, exist_ok=True)
    temporary = Path(tempfile.mkdtemp(dir=above, prefix=".shop-"))
    try:
        fresh = temporary / "shop"
        fresh.mkdir()
        for file in sorted(BUILT_IN.iterdir()):
            if file.is_file():
                (fresh / file.name).write_bytes(file.read_bytes())
        _put_in_place(fresh, to)
    finally:
        shutil.rmtree(temporary, ignore_errors=True)
    return tuple(sorted(to.iterdir()))


def _put_in_place(fresh: Path, to: Path) -> None:
    """A new folder is renamed; an empty one that stands is filled, for a shell may stand in it.

    One that was filled in the meantime stays and is a fault.
    """
    if not to.is_dir():
        fresh.rename(to)
        return
    if any(to.iterdir()):
        raise Unusable([_taken(to, "is not empty")])
    placed: list[Path] = []
    try:
        for file in sorted(fresh.iterdir()):
            placed.append(file.rename(to / file.name))
    except BaseException:
        for file in placed:
            file.unlink(missing_ok=True)
        raise


def _taken(to: Path, wrong: str) -> Fault:
    return Fault(str(to), None, None, "shop copy", wrong, "name a new or empty folder; nothing is overwritten")
