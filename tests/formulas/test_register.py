"""The register of formulas, and what every formula in it has to bear."""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import math
import types
import typing
from collections.abc import Callable
from itertools import product
from pathlib import Path
from typing import Any

import pytest

import matcher.formulas
from catalog_schema.sources import COMMON_PRACTICE, Source
from matcher.formulas import register
from matcher.formulas.coils import Coil, Net, Series
from matcher.formulas.nets import CoilNet, equal_power_nets
from matcher.formulas.register import Formula, all_formulas, formula

FOLDER = Path(matcher.formulas.__file__).parent
FORMULAS = all_formulas()
SAMPLES = {Net: Series((Coil(1), Coil(2))), CoilNet: (equal_power_nets(2) or ())[0]}
ROUGH = (None, math.nan, math.inf, -math.inf, -1.0, 0.0, 1e-300, 0.5, 1, 7.5, 1e300, 10**400)


def function_of(entry: Formula) -> Callable[..., Any]:
    function: Callable[..., Any] = getattr(importlib.import_module(entry.module), entry.name)
    return function


def name_of(entry: Formula) -> str:
    return f"{entry.module.rpartition('.')[2]}.{entry.name}"


def numbers_in(answer: object) -> list[float]:
    if dataclasses.is_dataclass(answer) and not isinstance(answer, type):
        return [number for field in dataclasses.fields(answer) for number in numbers_in(getattr(answer, field.name))]
    if isinstance(answer, tuple | list):
        return [number for item in answer for number in numbers_in(item)]
    return [float(answer)] if isinstance(answer, int | float) else []


@pytest.mark.parametrize("entry", FORMULAS, ids=name_of)
def test_every_formula_says_what_it_answers_where_it_holds_and_where_it_comes_from(entry: Formula) -> None:
    page = inspect.getdoc(function_of(entry)) or ""
    assert entry.says.endswith(".")
    assert entry.valid in page
    assert str(entry.source) in page
    assert ">>>" in page, "an example that the default test run checks"


def on_plain_numbers(entry: Formula) -> bool:
    """Formulas on exact figures get them from the store, which has looked at them already."""
    return "Decimal" not in str(inspect.signature(function_of(entry)))


@pytest.mark.parametrize("entry", [entry for entry in FORMULAS if on_plain_numbers(entry)], ids=name_of)
def test_no_formula_raises_or_answers_something_infinite(entry: Formula) -> None:
    function = function_of(entry)
    hints = typing.get_type_hints(function)
    plain = [name for name in inspect.signature(function).parameters if hints[name] == float | None]
    others = {
        name: rough_value(hints[name])
        for name, parameter in inspect.signature(function).parameters.items()
        if name not in plain and parameter.default is inspect.Parameter.empty
    }
    for figures in rough_rows(len(plain)):
        answer = function(**dict(zip(plain, figures, strict=True)), **others)
        assert all(math.isfinite(number) for number in numbers_in(answer)), figures


def rough_rows(count: int) -> list[tuple[float | None, ...]]:
    """All rough pairs for two figures or fewer; for more, each rough value alone among good ones."""
    if count <= 2:
        return list(product(ROUGH, repeat=count))
    return [
        tuple(rough if at == place else good for at in range(count))
        for good in (1.0, 7.5, 1e300)
        for place in range(count)
        for rough in ROUGH
    ]


def rough_value(hint: Any) -> Any:
    """Something empty or plain of the kind that a parameter wants."""
    if typing.get_origin(hint) is typing.Literal:
        return typing.get_args(hint)[0]
    if hint in SAMPLES:
        return SAMPLES[hint]
    if isinstance(hint, types.UnionType):
        hint = next((kind for kind in typing.get_args(hint) if dataclasses.is_dataclass(kind)), hint)
    if dataclasses.is_dataclass(hint) and isinstance(hint, type):
        return hint(*(1.0 for _ in dataclasses.fields(hint)))
    return {bool: True, int: 1, str: "no such thing"}.get(hint, ())


def test_the_list_holds_every_public_function_of_the_package() -> None:
    public = {
        (function.__module__, function.__name__)
        for path in FOLDER.glob("*.py")
        if path.stem not in ("__init__", "known", "register", "relations")
        for _, function in inspect.getmembers(
            importlib.import_module(f"matcher.formulas.{path.stem}"), inspect.isfunction
        )
        if function.__module__ == f"matcher.formulas.{path.stem}" and not function.__name__.startswith("_")
    }
    assert public == {(entry.module, entry.name) for entry in FORMULAS}


def test_the_list_is_in_order() -> None:
    assert [(entry.module, entry.name) for entry in FORMULAS] == sorted(
        (entry.module, entry.name) for entry in FORMULAS
    )


def test_a_formula_is_entered_and_handed_back_untouched(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(register, "_FORMULAS", {})

    def half(figure: float) -> float:
        """Half of it."""
        return figure / 2

    kept = formula(source=COMMON_PRACTICE, valid="any number")(half)
    assert kept is half
    assert Formula(__name__, "half", "Half of it.", COMMON_PRACTICE, "any number") in all_formulas()
    with pytest.raises(ValueError, match="in the register already"):
        formula(source=COMMON_PRACTICE, valid="any number")(half)


def test_a_formula_without_a_docstring_is_refused() -> None:
    def silent() -> None:
        pass

    with pytest.raises(ValueError, match="has no docstring"):
        formula(source=Source("common practice"), valid="never")(silent)


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.py")), ids=lambda path: path.stem)
def test_files_stay_short(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) < 300
