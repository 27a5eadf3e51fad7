"""How much was thrown at the program, how often it was killed, and what came of it: docs/reliability.md.

python tests/bench/reliability.py --write                # as docs/reliability.md was made
python tests/bench/reliability.py --times 10             # ten times as much
python tests/bench/reliability.py --only "typed figures"  # one trial, as often as needed
"""

from __future__ import annotations

import argparse
import datetime
import random
import resource
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.bench.sudden_death import Tally, sudden_death  # noqa: E402
from tests.fuzz.findings import FINDINGS  # noqa: E402
from tests.fuzz.trials import TRIALS, Outcome, Trial  # noqa: E402

PAGE = ROOT / "docs" / "reliability.md"
SUDDEN_DEATH = "sudden death"
KILLS, PAGES = 300, 20
MOST_TOLD = 5
"""Broken promises of one trial that the page tells."""

FAULTS = """| fault | what is done | what has to hold | test |
|---|---|---|---|
| full disk | no file may grow (by the system's limit): 7 changes | exit 2, the cause, a fix; nothing changed | `test_faults.py` |
| no rights | folder and store read-only: 7 changes | the same | `test_faults.py` |
| store cut short, rubbish, empty, another's database, newer format | a question, a change, a check | exit 3, a fix; not a byte changed | `test_faults.py` |
| older format | a question, a change, killed on the way | asked as it is; brought up with its old file kept | `test_formats.py` |
| bytes turned over in a store | a check | told, or of a block that nothing is in | `test_check.py` |
| 31 kinds of rows and documents at fault | a check | each told with its place and a fix | `test_check.py` |
| published files cut short, altered, of another program | a refresh | refused as a whole | `test_attached.py` |
"""  # noqa: E501


@dataclass
class Measured:
    """What one run has come to."""

    outcomes: list[tuple[Trial, Outcome]]
    tally: Tally | None
    seconds: float
    worked: float
    """Seconds of processor time, that of the processes that were killed included."""

    @property
    def broken(self) -> list[str]:
        """Every broken promise, with the name of its trial."""
        told = [f"{trial.name}: {line}" for trial, outcome in self.outcomes for line in outcome.broken]
        return told + [f"{SUDDEN_DEATH}: {line}" for line in (self.tally.broken if self.tally else [])]


def measure(names: Sequence[str], times: float, seed: int, done: Callable[[Measured], object]) -> Measured:
    """Run the trials of these names; after each of them `done` gets what has been measured so far."""
    started = time.monotonic()
    outcomes: list[tuple[Trial, Outcome]] = []
    with tempfile.TemporaryDirectory(prefix="reliability-") as place:
        for number, trial in enumerate(one for one in TRIALS if one.name in names):
            folder = Path(place) / str(number)
            folder.mkdir()
            outcomes.append((trial, _outcome(trial, folder, max(int(trial.count * times), 1), seed)))
            done(Measured(outcomes, None, time.monotonic() - started, _worked()))
        tally = None
        if SUDDEN_DEATH in names:
            folder = Path(place) / "death"
            folder.mkdir()
            tally = sudden_death(folder, max(int(KILLS * times), 1), max(int(PAGES * times), 1), seed)
    return Measured(outcomes, tally, time.monotonic() - started, _worked())


def _outcome(trial: Trial, folder: Path, count: int, seed: int) -> Outcome:
    """What a trial has come to; one that cannot be run has broken its promise."""
    started = time.monotonic()
    try:
        outcome = trial.run(folder, count, seed)
    except Exception as error:
        outcome = Outcome(0, broken=[f"it could not be run: {type(error).__name__}: {error}"[:500]])
    told = f"{outcome.tried:,} tried, {len(outcome.broken)} broken, {time.monotonic() - started:.0f} s"
    print(f"{trial.name}: {told}", file=sys.stderr, flush=True)
    return outcome


def _worked() -> float:
    spent = [resource.getrusage(whose) for whose in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in spent)


def page(measured: Measured, times: float, seed: int) -> str:
    """The page, from what was measured."""
    outcomes = measured.outcomes
    trials = [
        (trial.name, f"{one.tried:,}", _count(one.refused), _count(one.compared), f"{len(one.broken)}", trial.promise)
        for trial, one in outcomes
    ]
    found = [(what, f"`{file}`: {name.replace('_', ' ')}") for what, file, name in FINDINGS]
    wrong = sum(len(one.broken) for _, one in outcomes)
    compared = sum(one.compared or 0 for _, one in outcomes)
    return f"""# Reliability

Written by `python tests/bench/reliability.py --write --times {times:g} --seed {seed}` on
{datetime.date.today().isoformat()}, in {measured.seconds:.0f} s, of which {measured.worked:.0f} s of processor time.
The numbers are those of that one run on one machine with two busy processors; they say what was tried, not what cannot
happen.

## Trials

Inputs are drawn by generators from a seed: rhythms of typing, formats and units, lists loaded again and again, vehicles
of which only some figures are known, and hostile words wherever one can stand: NaN and infinities, 1e400, negative
sizes, lone surrogates, keys twice, formulas, bytes turned over. Words of ten megabytes, in cells, documents, forms,
readings and commands, are tried by `fuzz/test_large.py`.

{_table(("trial", "tried", "refused", "compared", "broken", "what has to hold"), trials)}
{sum(one.tried for _, one in outcomes):,} tried, {compared:,} figures compared with what had to come out; {wrong} broke
a promise in this run.
{_broken_section(measured)}
{_death_section(measured.tally)}
## Faults injected

{FAULTS}
## Findings

What this has found so far, mended and held by a test:

{_table(("what it was", "held by"), found)}
## Not tried

Power failures of a real disk, network file systems, other systems than Linux, faults of memory, and fuzzing that is
guided by what the code does: it was tried and reached no more than blind inputs. What `store join` and `store leave`
do, and every write into a chain, is killed by `tests/keeping/test_chain.py`, and not counted here.
"""


def _count(number: int | None) -> str:
    return "" if number is None else f"{number:,}"


def _broken_section(measured: Measured) -> str:
    """The broken promises of the trials, the first few of each."""
    lines = [
        f"- {trial.name}: {line}".replace("\n", " ")
        for trial, outcome in measured.outcomes
        for line in outcome.broken[:MOST_TOLD]
    ]
    return "\n".join(["", "Broken in this run:", "", *lines, ""]) if lines else ""


def _death_section(tally: Tally | None) -> str:
    if tally is None:
        return ""
    kills = [(name, str(count)) for name, count in tally.acts.items()]
    return f"""## Sudden death

Each command is ended by the system (SIGKILL) at a random moment of the time that it takes or a third longer, in a
process that has everything imported: it dies at its work, not while it starts. What was answered has to be there, what
was not has to be there as a whole or not at all, and the same command has to work afterwards; of `demo`, that what it
left is sound.

{_table(("what was killed", "times"), kills)}
{tally.kills} kills: {tally.answered} after the answer, {tally.kept} between the change and the answer, {tally.absent}
before the change. {tally.checks} times everything in the store was checked. {len(tally.broken)} broken promises.
"""


def _table(heads: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    lines = [list(heads), *map(list, rows)]
    lines.insert(1, ["---"] * len(lines[0]))
    return "".join(f"| {' | '.join(cells)} |\n" for cells in lines)


def main() -> None:
    every = [*(trial.name for trial in TRIALS), SUDDEN_DEATH]
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--times", type=float, default=1, help="multiply every count by this")
    parser.add_argument("--seed", type=int, default=random.randrange(10**6))
    parser.add_argument("--only", action="append", choices=every, metavar="NAME", help=f"run only: {', '.join(every)}")
    parser.add_argument("--write", action="store_true", help="write docs/reliability.md")
    told = parser.parse_args()
    if told.write and told.only:
        parser.error("the page is written from all trials: leave --only out")

    def write(measured: Measured) -> None:
        if told.write:
            PAGE.write_text(page(measured, told.times, told.seed), encoding="utf-8")

    measured = measure(told.only or every, told.times, told.seed, write)
    write(measured)
    if not told.write:
        print(page(measured, told.times, told.seed))
    print("\n".join(measured.broken), file=sys.stderr)
    sys.exit(bool(measured.broken))


if __name__ == "__main__":
    main()
