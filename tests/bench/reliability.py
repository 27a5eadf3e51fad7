"""How much was thrown at the program, how often it was killed, and what came of it: docs/reliability.md.

python tests/bench/reliability.py --write            # as docs/reliability.md was made
python tests/bench/reliability.py --times 10         # ten times as much
"""

from __future__ import annotations

import argparse
import datetime
import random
import resource
import sys
import tempfile
import time
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.bench.sudden_death import Tally, sudden_death  # noqa: E402
from tests.fuzz.faces import throw_commands, throw_forms  # noqa: E402
from tests.fuzz.guided import WAYS, Guided, guide  # noqa: E402
from tests.fuzz.partial import PAPERS  # noqa: E402
from tests.fuzz.targets import TARGETS, Thrown, throw  # noqa: E402

PAGE = ROOT / "docs" / "reliability.md"
INPUTS = {
    "figures": 5_000,
    "maps": 1_500,
    "lists": 60,
    "lists' files": 250,
    "vehicles": 250,
    "jobs": 250,
    "readings": 250,
    "papers": 60,
    "commands": 400,
    "forms": 400,
}
GUIDED = {"maps": 3_000, "vehicles": 120, "jobs": 150}
KILLS, PAGES = 300, 20

FINDINGS = [
    (
        "An older store was copied by the process that held it; closing the copy let go of the lock, and another "
        "process could have changed the store at the same time.",
        "keeping/test_backup.py",
        "nobody_gets_at_an_older_store_while_its_backup_is_kept",
    ),
    (
        "`vehicle load` and `job load` of several files, killed between two, left some of them.",
        "keeping/test_sudden_death.py",
        "what_was_answered_is_there_and_the_rest_is_absent",
    ),
    (
        "A full disk ended in a traceback: at the end of a change, while publishing, while copying.",
        "keeping/test_faults.py",
        "on_a_full_disk_nothing_changes_and_it_is_said",
    ),
    (
        "A store without rights was said to be no store at all.",
        "keeping/test_faults.py",
        "in_a_folder_without_rights_nothing_changes_and_it_is_said",
    ),
    (
        "A reader whose version was cleared away while it took it in gave up, where a newer one was there.",
        "keeping/test_attached.py",
        "readers_see_whole_versions_only_while_others_come",
    ),
    (
        'A figure written as `{"value": null}` ended in a traceback.',
        "fuzz/test_found.py",
        "a_figure_without_a_value_is_refused_with_its_place",
    ),
    (
        "A number such as `1e999999999999999999999` in any JSON ended in a traceback.",
        "fuzz/test_found.py",
        "a_number_beyond_all_measure_is_no_document",
    ),
    (
        "A spreadsheet with a byte turned over ended in a traceback.",
        "fuzz/test_found.py",
        "a_spreadsheet_with_a_byte_turned_over_is_refused",
    ),
    (
        "A Parquet file with a spoiled page ended in a traceback.",
        "fuzz/test_found.py",
        "a_parquet_with_a_spoiled_page_is_refused",
    ),
    (
        "A name that is not known was refused without a cure, where there were none or very many.",
        "fuzz/test_found.py",
        "a_name_that_is_not_known_always_has_a_cure",
    ),
    (
        "The page broke where a catalog without versions was to go back, and on numbers such as `²` or of 5,000 "
        "digits.",
        "fuzz/test_found.py",
        "going_back_in_a_catalog_that_has_no_versions_is_refused_by_the_page",
    ),
    (
        "Papers, drawings, spreadsheets, maps and exported jobs were written in place: killed on the way, half a file "
        "stood there under its own name.",
        "keeping/test_sudden_death.py",
        "what_was_answered_is_there_and_the_rest_is_absent",
    ),
    (
        "A name of ten megabytes that is not known was told again whole.",
        "fuzz/test_large.py",
        "a_word_is_taken_or_refused_in_few_words",
    ),
    (
        "Half a character in the name of a part that was measured ended in a traceback.",
        "fuzz/test_large.py",
        "a_word_is_taken_or_refused_in_few_words",
    ),
    (
        "A figure that may be negative, such as a level or a position, had no least: -10000000000 dB was taken.",
        "fuzz/test_found.py",
        "a_figure_that_may_be_negative_ends_somewhere_on_both_sides",
    ),
]
"""What was found and mended: what it was, and the test that holds it."""

FAULTS = """| fault | what is done | what has to hold | test |
|---|---|---|---|
| full disk | no file may grow (by the system's limit): 7 changes | exit 2, the cause, a cure; nothing changed | `test_faults.py` |
| no rights | folder and store read-only: 7 changes | the same | `test_faults.py` |
| store cut short, rubbish, empty, another's database, newer format | a question, a change, a check | exit 3, a cure; not a byte changed | `test_faults.py` |
| older format | a question, a change, killed on the way | asked as it is; brought up with its old file kept | `test_formats.py` |
| bytes turned over in a store | a check | told, or of a block that nothing is in | `test_check.py` |
| 31 kinds of rows and documents at fault | a check | each told with its place and a cure | `test_check.py` |
| published files cut short, altered, of another program | a refresh | refused as a whole | `test_attached.py` |
"""  # noqa: E501


@dataclass
class Measured:
    """What one run has come to."""

    thrown: dict[str, Thrown]
    guided: dict[str, Guided]
    broken: list[str]
    tally: Tally
    seconds: float
    worked: float
    """Seconds of processor time, that of the processes that were killed included."""


def measure(times: float, seed: int) -> Measured:
    """Throw everything, kill everything."""
    started = time.monotonic()
    found, guided, broken = {}, {}, []
    with tempfile.TemporaryDirectory(prefix="reliability-") as place:
        folder = Path(place)
        for target in (*TARGETS, PAPERS):
            most = max(int(INPUTS[target.name] * times), 1)
            try:
                found[target.name] = throw(target, folder, most)
            except Exception as error:
                broken.append(f"{target.name}: {error}"[:500])
            _tell(target.name, found.get(target.name))
        for way in WAYS:
            try:
                guided[way.name] = guide(way, folder, max(int(GUIDED[way.name] * times), 1), seed)
            except Exception as error:
                broken.append(f"{error}"[:500])
            print(f"{way.name}: {guided.get(way.name)}", file=sys.stderr, flush=True)
        for name, face in (("commands", throw_commands), ("forms", throw_forms)):
            found[name], wrong = face(folder, int(INPUTS[name] * times), seed)
            broken += wrong
            _tell(name, found[name])
        (folder / "death").mkdir()
        tally = sudden_death(folder / "death", int(KILLS * times), int(PAGES * times), seed)
    return Measured(found, guided, broken + tally.broken, tally, time.monotonic() - started, _worked())


def _worked() -> float:
    spent = [resource.getrusage(whose) for whose in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in spent)


def _tell(name: str, thrown: Thrown | None) -> None:
    print(f"{name}: {thrown}", file=sys.stderr, flush=True)


def page(measured: Measured, times: float, seed: int) -> str:
    """The page, from what was measured."""
    tally = measured.tally
    kills = [(name, str(count)) for name, count in tally.acts.items()]
    found = [(what, f"`{file}`: {name.replace('_', ' ')}") for what, file, name in FINDINGS]
    inputs = [
        (name, f"{one.tried:,}", f"{one.taken:,}", f"{one.tried - one.taken:,}")
        for name, one in measured.thrown.items()
    ]
    guided = [
        (name, f"{one.tried:,}", f"{one.taken:,}", f"{one.kept}", f"{one.by_seeds}", f"{one.guided}", f"{one.unguided}")
        for name, one in measured.guided.items()
    ]
    total = sum(one.tried for one in (*measured.thrown.values(), *measured.guided.values()))
    return f"""# Reliability

Written by `python tests/bench/reliability.py --write --times {times:g} --seed {seed}` on
{datetime.date.today().isoformat()}, in {measured.seconds:.0f} s, of which {measured.worked:.0f} s of processor time.
The numbers are those of that one run on one machine with two busy processors; they say what was tried, not what cannot
happen.

## Bad input

Each input is taken or refused with what was wrong and a cure: never a traceback, never a figure that nobody wrote (not
a number, infinite, out of its range), and the store is sound with what was taken. NaN and infinities, 1e400, negative
sizes, no impedance, a kilometer, lone surrogates, keys twice, lists within lists, formulas, bytes turned over. Words of
ten megabytes, in cells, documents, forms, readings and commands, are tried by `fuzz/test_large.py`.

{_table(("way in", "inputs", "taken", "refused"), inputs)}
Some are guided by what they reach: an input that comes to a new place in the code is kept and altered further. A place
is a call within our packages, by the line it comes from, or the line at which a function was left; no single branches
are told apart. Beside it stands what as many inputs reach that are made of the first ones alone.

{_table(("way in", "inputs", "taken", "kept", "places by the first", "guided", "unguided"), guided)}
{total:,} inputs; {len(measured.broken) - len(tally.broken)} broke the promise in this run.

## Sudden death

Each command is ended by the system (SIGKILL) at a random moment of the time that it takes or a third longer, in a
process that has everything imported: it dies at its work, not while it starts. What was answered has to be there, what
was not has to be there as a whole or not at all, and the same command has to work afterwards; of `demo`, that what it
left is sound.

{_table(("what was killed", "times"), kills)}
{tally.kills} kills: {tally.answered} after the answer, {tally.kept} between the change and the answer, {tally.absent}
before the change. {tally.checks} times everything in the store was checked. {len(tally.broken)} broken promises.

## Faults injected

{FAULTS}
## Findings

What this has found so far, mended and held by a test:

{_table(("what it was", "held by"), found)}
## Not tried

Power failures of a real disk, network file systems, other systems than Linux, faults of memory, fuzzing that is guided
by the branches of the code, and guidance for lists, readings, commands and forms: their inputs are drawn from lists of
accidents, from properties (Hypothesis), and from files with bytes turned over. What `store join` and `store leave` do,
and every write into a chain, is killed by `tests/keeping/test_chain.py`, and not counted here.
"""


def _table(heads: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    lines = [list(heads), *map(list, rows)]
    lines.insert(1, ["---"] * len(lines[0]))
    return "".join(f"| {' | '.join(cells)} |\n" for cells in lines)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--times", type=float, default=1, help="as often as that")
    parser.add_argument("--seed", type=int, default=random.randrange(10**6))
    parser.add_argument("--write", action="store_true", help="write docs/reliability.md")
    told = parser.parse_args()
    measured = measure(told.times, told.seed)
    text = page(measured, told.times, told.seed)
    if told.write:
        PAGE.write_text(text, encoding="utf-8")
    else:
        print(text)
    print("\n".join(measured.broken), file=sys.stderr)
    sys.exit(bool(measured.broken))


if __name__ == "__main__":
    main()
