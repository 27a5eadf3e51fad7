"""The fitting sheet: the order of work, a page per place, a wiring page, boxes to build, and templates."""

from __future__ import annotations

from catalog_schema.answers import BoxPanel, Line, Package
from catalog_schema.ladder import step_rank
from catalog_schema.wiring import joins_coils
from matcher.answers.undo import work_of
from matcher.papers.cautions import ORIGINALS
from matcher.papers.clearances import at_place, clearance_table, tightest, unmeasured
from matcher.papers.kit import kit_section
from matcher.papers.model import Block, Document, Items, Para, Section, Table
from matcher.papers.went_on import went_on
from matcher.papers.wiring import wiring
from matcher.papers.writer import Writer

TOLD = 7
"""Number of clearances printed per place, smallest first: the rest have more room than any of these."""


def fitting(writer: Writer) -> Document:
    """Return the paper for the installer's bay."""
    package = writer.package
    blocks: list[Block] = [
        writer.cautions("fitting"),
        *(went_on(writer, "order") or _open(writer, package)),
        _work(writer, package),
        *kit_section(writer, package),
        *_places(writer, package),
        *wiring(writer, package),
        *_made_box(writer, package),
        *_templates(writer),
    ]
    return writer.document("fitting", blocks)


def _open(writer: Writer, package: Package) -> list[Block]:
    """Return a warning if something is still to be measured."""
    if package.verdict == "fits":
        return []
    return [Para(text=writer.say("fitting.open", count=str(len(package.measure))), tone="warn")]


def _work(writer: Writer, package: Package) -> Section:
    """Return the steps of the work in order."""
    steps = [
        writer.say("work.first"),
        writer.say("work.keep"),
        *(_step(writer, line) for line in work_of(package.lines)),
        *(writer.say(f"work.{name}") for name in ("fuse" if writer.amplifiers else "power", "setup", "last")),
    ]
    return Section(title=writer.say("work.title"), blocks=(Items(items=tuple(steps), mark="number"),))


def _step(writer: Writer, line: Line) -> str:
    bass = writer.package.bass
    key = "work.bass_joined" if line.slot == "bass" and bass and joins_coils(bass.net) else f"work.{line.slot}"
    step = writer.say(key, part=writer.line(line), place=writer.place(line.opening_id))
    if line.slot == "film" and line.covers:
        step = f"{step} {writer.say('work.film_on', panes=writer.listed([*map(writer.words.translated, line.covers)]))}"
    if line.adapter_id:
        step = f"{step} {writer.say('work.adapter', part=writer.part(line.adapter_id))}"
    if step_rank(line.alteration) > step_rank("bolt_on"):
        step = f"{step} {writer.say('work.alters', step=writer.done(line))}"
    return step


def _places(writer: Writer, package: Package) -> list[Block]:
    """Return a page for each opening with parts and drawings or clearances; the steps of work name the others."""
    made: dict[str, list[Line]] = {}
    for line in package.lines:
        if line.opening_id is not None and (line.part_id or line.slot not in ORIGINALS):
            made.setdefault(line.opening_id, []).append(line)
    return [section for opening_id, lines in made.items() for section in _place(writer, package, opening_id, lines)]


def _place(writer: Writer, package: Package, opening_id: str, lines: list[Line]) -> list[Section]:
    """Return the page of an opening: its parts, drawings, and tightest clearances; none without both of these."""
    opening = writer.dossier.opening(opening_id)
    told = at_place(package.checks, opening_id)
    checks, drawings = [*unmeasured(told), *tightest(told)][:TOLD], _drawings(writer, opening_id)
    if not checks and not drawings:
        return []
    rows = [row for line in lines for row in _fitted(writer, line)]
    most = max(lines, key=lambda line: step_rank(line.alteration))
    rows.append((writer.say("fitting.alters"), writer.done(most)))
    if opening.get("fasten"):
        rows.append((writer.say("fitting.fasten"), writer.words.translated(str(opening["fasten"]))))
    parts = Table(heads=("", ""), rows=tuple(rows), widths=(1, 3), side=True)
    clearances = [clearance_table(writer, checks)] if checks else []
    blocks = (parts, *drawings, *clearances)
    return [Section(title=writer.place(opening_id), blocks=blocks, new_page=bool(drawings), whole=not drawings)]


def _fitted(writer: Writer, line: Line) -> list[tuple[str, str]]:
    slot = writer.say(f"slot.{line.slot}")
    number = f" ({line.part_id})" if line.part_id and not line.is_owned else ""
    count = f"{line.pieces} × " if line.pieces > 1 else ""
    rows = [(slot, f"{count}{writer.line(line)}{number}")]
    if line.adapter_id:
        rows.append((writer.say("fitting.adapter"), f"{writer.part(line.adapter_id)} ({line.adapter_id})"))
    return rows


def _drawings(writer: Writer, opening_id: str) -> list[Block]:
    """Return the drawings of an opening."""
    named = {name: one for name, one in writer.dossier.drawings.items() if name.startswith(f"{opening_id}/")}
    shown = [one for name, one in named.items() if not name.endswith("-template")]
    return [*writer.legible(shown)]


def _made_box(writer: Writer, package: Package) -> list[Block]:
    """Return the cut list of a made-to-measure box."""
    bass = package.bass
    if bass is None or bass.outer is None:
        return []
    outer = bass.outer
    sizes = writer.numbers.sizes(outer.w_mm, outer.h_mm, outer.d_mm)
    board = writer.amount(writer.dossier.settings["board_mm"], "mm")
    facts = {
        "outer": sizes,
        "top": writer.amount(outer.d_top_mm, "mm"),
        "net": writer.amount(bass.box_net_l, "l"),
        "mass": writer.amount(outer.mass_kg, "kg"),
        "board": board,
    }
    cells = tuple((writer.say(f"box.{name}"), value) for name, value in facts.items())
    heads = tuple(writer.say(f"box.{name}") for name in ("panel", "count", "length", "width", "width_top", "bevel"))
    rows = tuple(_panel(writer, panel) for panel in bass.panels)
    blocks: list[Block] = [
        Table(heads=("", ""), rows=cells, widths=(1, 2), side=True),
        Table(heads=heads, rows=rows, right=(1, 2, 3, 4, 5)),
    ]
    return [Section(title=writer.say("box.title"), blocks=tuple(blocks))]


def _panel(writer: Writer, panel: BoxPanel) -> tuple[str, ...]:
    top = "" if panel.width_top_mm is None else writer.amount(panel.width_top_mm, "mm")
    bevel = writer.amount(panel.bevel_deg, "°") if panel.bevel_deg else ""
    return (
        writer.say(f"panel.{panel.panel}"),
        str(panel.count),
        writer.amount(panel.length_mm, "mm"),
        writer.amount(panel.width_mm, "mm"),
        top,
        bevel,
    )


def _templates(writer: Writer) -> list[Block]:
    """Return the full-size templates, one per sheet."""
    made: list[Block] = []
    for name, one in writer.dossier.drawings.items():
        if name.endswith("-template"):
            title = writer.say("template.title", place=writer.place(name.rpartition("/")[0]))
            blocks = (Para(text=writer.say("template.lead")), writer.template(one))
            made.append(Section(title=title, blocks=blocks, wide=True))
    return made
