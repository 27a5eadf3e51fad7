"""The set-up sheet: settings and readings with space to write, and the readings after they were entered."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from shlex import quote

from catalog_schema.answers import VERDICT_ORDER, Filter, Package
from catalog_schema.choices import ClaimMet, GainTarget, Setup, SetupCheck, SetupValue
from catalog_schema.wiring import channels_of
from matcher.jobs.messages import BETWEEN
from matcher.papers.codes import code, page_address
from matcher.papers.filters import filter_text
from matcher.papers.model import Block, Box, Document, Form, Items, Para, Section, Table
from matcher.papers.writer import Writer

BLANK_STEPS, ABREAST = 3, 2
"""Blank rows for volume steps, and steps per row."""
AS_SET = ("high_pass_hz", "low_pass_hz", "delay_ms")
"""Values recorded as set: fields of the job."""
IN_A_ROW = 4


def setup(writer: Writer) -> Document:
    """Return the paper for use at the meter."""
    package, record = writer.package, writer.dossier.setup
    done = record is not None and record.number is not None
    blocks: list[Block] = [
        Para(text=writer.say("setup.done" if done else "setup.lead"), tone="lead"),
        *_scanned(writer),
        *_outcome(writer, record if done else None),
        _order(writer),
        _gains(writer, package, record),
        _output(writer, record),
        _polarity(writer, package, record),
        _currents(writer, package, record),
        *_bass(writer),
        writer.cautions("setup", extra=() if record is None else record.cautions),
    ]
    return writer.document("setup", blocks)


def _scanned(writer: Writer) -> list[Block]:
    """Return a code that opens the page's form for all readings, if the shop has a page."""
    page = writer.dossier.settings.word("page_address")
    if not page:
        return []
    address = page_address(page, "setup", job=str(writer.dossier.job["job_id"]))
    return [Form(code=code(address, writer.say("setup.code"), writer.say("measuring.scan")))]


def _outcome(writer: Writer, record: Setup | None) -> list[Block]:
    """Return the readings next to their targets, worst first."""
    if record is None:
        return []
    rated = [(VERDICT_ORDER[gain.verdict], _gain_row(writer, gain)) for gain in record.gains]
    rated += [(VERDICT_ORDER[check.verdict], _check_row(writer, check)) for check in record.checks]
    rows = [row for _, row in sorted(rated, key=lambda pair: pair[0])]
    rows += [_claim_row(writer, claim) for claim in record.claims]
    rows += [_set_row(writer, one) for one in record.values if one.field.partition(".")[0] in AS_SET]
    heads = tuple(writer.say(f"setup.outcome.{name}") for name in ("where", "what", "read", "wanted", "verdict"))
    table = Table(heads=heads, rows=tuple(rows), widths=(1.4, 1.4, 0.8, 1.3, 0.8))
    return [Section(title=writer.say("setup.outcome.title"), blocks=(table,))]


def _gain_row(writer: Writer, gain: GainTarget) -> tuple[str, ...]:
    wanted = next((tone.overlap_v for tone in gain.tones if tone.tone_db == gain.tone_db), gain.target_v)
    what = writer.say("setup.outcome.gain")
    cells = (_value_text(writer, gain.read_v, "V"), _value_text(writer, wanted, "V"))
    return (writer.place(gain.opening_id), what, *cells, writer.verdict(gain.verdict))


def _check_row(writer: Writer, check: SetupCheck) -> tuple[str, ...]:
    what = writer.say(f"setup.check.{check.name.replace(' ', '_')}")
    about = (
        writer.part(check.about) if check.about in writer.dossier.parts else writer.sentence(writer.place(check.about))
    )
    cells = (_value_text(writer, check.have, check.unit), _needed(writer, check))
    return (about, what, *cells, writer.verdict(check.verdict))


def _needed(writer: Writer, check: SetupCheck) -> str:
    """Return the target: a value, or a range."""
    least, between, most = str(check.need).partition(BETWEEN)
    if not between:
        return _value_text(writer, check.need, check.unit)
    most = most.removesuffix(f" {check.unit}")
    return writer.say(
        "setup.check.between", least=_value_text(writer, least, ""), most=_value_text(writer, most, check.unit)
    )


def _claim_row(writer: Writer, claim: ClaimMet) -> tuple[str, ...]:
    figure = writer.wanted(f"{claim.subject}.{claim.field}")
    about = writer.where(figure) if figure.kind == "part" else ""
    key = f"handover.value.{claim.field}"
    what = writer.say(key) if key in writer.words else writer.what(figure)
    claimed = writer.say("setup.outcome.claimed", value=_value_text(writer, claim.claimed, claim.unit))
    return (about, what, _value_text(writer, claim.measured, claim.unit), claimed, "")


def _set_row(writer: Writer, one: SetupValue) -> tuple[str, ...]:
    """Return settings without a target, recorded so that they can be restored."""
    name, _, place = one.field.partition(".")
    return (writer.place(place), writer.say(f"handover.value.{name}"), _value_text(writer, one.value, one.unit), "", "")


def _value_text(writer: Writer, value: Decimal | str | None, unit: str) -> str:
    """Format a value as read: a figure with its unit, a word in this language, anything else unchanged."""
    if value is None:
        return "–"
    key = f"setup.value.{value}"
    if key in writer.words:
        return writer.say(key)
    try:
        return writer.amount(Decimal(value), unit)
    except ArithmeticError:
        return str(value)


def _order(writer: Writer) -> Section:
    steps = tuple(
        writer.say(f"setup.step.{name}") for name in ("flat", "unload", "find", "gain", "filter", "polarity", "rest")
    )
    return Section(title=writer.say("setup.order"), blocks=(Items(items=steps, mark="tick"),))


def _gains(writer: Writer, package: Package, record: Setup | None) -> Section:
    """Return gain targets and filters with a line to write on, a row per channel group."""
    known = {gain.opening_id: gain for gain in record.gains} if record is not None else {}
    tones = next(([tone.tone_db for tone in gain.tones if tone.tone_db] for gain in known.values()), [])
    heads = [writer.say(f"setup.gain.{name}") for name in ("where", "from", "channels", "load", "target")]
    heads += [writer.say("setup.gain.tone", level=writer.amount(tone, "dB")) for tone in tones]
    heads += [writer.say("setup.gain.filter"), writer.say("setup.gain.read")]
    rows = tuple(
        (
            *_group(writer, package, group, known, len(tones)),
            filter_text(writer, package, group.to[0]),
            _read(writer, next((known[place] for place in group.to if place in known), None)),
        )
        for group in package.filters
    )
    right = (*range(3, 5 + len(tones)), len(heads) - 1)
    table = Table(
        heads=tuple(heads), rows=rows, widths=(1.3, 1.2, 0.8, 0.5, 0.8, *(0.7 for _ in tones), 2, 0.9), right=right
    )
    blocks: list[Block] = [table, Para(text=writer.say("setup.gain.note"), tone="note")]
    return Section(title=writer.say("setup.gain.title"), blocks=tuple(blocks))


def _group(
    writer: Writer, package: Package, group: Filter, known: Mapping[str, GainTarget], tones: int
) -> tuple[str, ...]:
    """Return a channel group: its places, source, load, and target with and without a test tone."""
    links = [link for link in package.links if link.to[0] in group.to]
    targets = [link.target_v for link in links]
    target = None if None in targets else min(volts for volts in targets if volts is not None)
    gain = next((known[place] for place in group.to if place in known), None)
    shown = [] if gain is None else [writer.amount(tone.no_overlap_v, "V") for tone in gain.tones if tone.tone_db]
    shown += [""] * (tones - len(shown))
    channels = ", ".join(str(number) for number in channels_of(package.links, package.filters, group.to[0]))
    return (
        ", ".join(map(writer.place, group.to)),
        writer.part(group.from_),
        channels if group.slot != "head_unit" else writer.say("setup.gain.leads"),
        writer.amount(links[0].load_ohm, "ohm"),
        writer.amount(target if gain is None else gain.target_v, "V"),
        *shown,
    )


def _read(writer: Writer, gain: GainTarget | None) -> str:
    return writer.amount(gain.read_v, "V") if gain is not None and gain.read_v is not None else "______ V"


def _output(writer: Writer, record: Setup | None) -> Section:
    """Return the head unit's output by volume step, to find where clipping begins."""
    heads = tuple(writer.say(f"setup.output.{name}") for name in ("step", "volts", "clean"))
    read = [] if record is None else record.output
    rows = [(writer.numbers.number(one.step), writer.amount(one.volts, "V"), writer.clean(one.clean)) for one in read]
    table = Table(heads=heads, rows=tuple(rows), widths=(1, 1, 1.4))
    blank = Table(
        heads=heads * ABREAST, rows=(("",) * len(heads) * ABREAST,) * BLANK_STEPS, widths=(1.1, 0.8, 1.6) * ABREAST
    )
    blocks: list[Block] = [table if rows else blank]
    if record is not None and record.clean_v is not None:
        step = writer.amount(record.last_clean_step)
        blocks.append(Para(text=writer.say("setup.output.last", step=step, volts=writer.amount(record.clean_v, "V"))))
    else:
        blocks.extend(_typed(writer, "--step '30:2.2:yes'"))
    return Section(title=writer.say("setup.output.title"), blocks=tuple(blocks))


def _polarity(writer: Writer, package: Package, record: Setup | None) -> Section:
    """Return a row per place to check its polarity as normal or reversed, or the reading once entered."""
    places = list(dict.fromkeys(name for link in package.links for name in link.to))
    rows = tuple(_polarity_row(writer, record, place) for place in places)
    example = f"--polarity '{places[0]}=right'" if places else ""
    form = Form(lines=(writer.say("setup.polarity.lead"),), rows=rows, command=_command(writer, example))
    return Section(title=writer.say("setup.polarity.title"), blocks=(form,), whole=True)


def _polarity_row(writer: Writer, record: Setup | None, place: str) -> tuple[Box, ...]:
    read = next((one.value for one in record.values if one.field == f"polarity.{place}"), "") if record else ""
    if read:
        return (Box(label=writer.place(place), given=_value_text(writer, read, "")),)
    labels = (writer.say("setup.polarity.of", place=writer.place(place)), writer.say("setup.value.wrong"))
    return tuple(Box(label=label, tick=True) for label in labels)


def _bass(writer: Writer) -> list[Block]:
    """Return the output of the bass over frequency, as the range for its filters."""
    drawn = writer.dossier.drawings.get("bass-curve")
    return [] if drawn is None else [writer.drawing(drawn)]


def _currents(writer: Writer, package: Package, record: Setup | None) -> Section:
    """Return the currents during playback, and the standby drain."""
    supply = package.supply
    aims = {
        "music_a": None if supply is None else supply.music_a,
        "full_a": None if supply is None else supply.full_a,
        "rest_before_ma": None,
        "rest_ma": None if supply is None else supply.standby_ma,
    }
    boxes = [
        Box(
            label=_aimed(writer, name, aim),
            unit="mA" if name.endswith("_ma") else "A",
            given=_value(writer, record, name),
        )
        for name, aim in aims.items()
    ]
    options = "--current music=6.1 --drain-before 12 --drain 20"
    form = Form(rows=tuple(_rows(boxes)), command=_command(writer, options))
    return Section(title=writer.say("setup.current.title"), blocks=(form,), whole=True)


def _aimed(writer: Writer, name: str, aim: Decimal | None) -> str:
    label = writer.say(f"setup.current.{name}")
    if aim is None:
        return label
    return writer.say(
        "setup.current.computed", what=label, amount=writer.amount(aim, "mA" if name.endswith("_ma") else "A")
    )


def _value(writer: Writer, record: Setup | None, name: str) -> str:
    """Return the stored value of a field of the job; empty if there is none."""
    found = next((one.value for one in record.values if one.field == name), "") if record is not None else ""
    return _value_text(writer, found, "") if found else ""


def _rows(boxes: list[Box]) -> Iterator[tuple[Box, ...]]:
    for start in range(0, len(boxes), IN_A_ROW):
        yield tuple(boxes[start : start + IN_A_ROW])


def _typed(writer: Writer, options: str) -> list[Block]:
    command = _command(writer, options)
    return [Form(lines=(writer.say("setup.typed"),), command=command)] if command else []


def _command(writer: Writer, options: str) -> str:
    """Return the command that enters it by hand; None if the page can be used."""
    if writer.dossier.settings.word("page_address"):
        return ""
    return f"boltback setup {quote(str(writer.dossier.job['job_id']))} {options}".rstrip()
