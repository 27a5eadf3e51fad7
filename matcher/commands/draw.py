"""Drawings as files: an opening as found, or with a part in it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from matcher.commands.base import (
    AlterationOption,
    ForceOption,
    JsonOption,
    OpeningArgument,
    StoreOption,
    open_shop,
    print_json,
    print_table,
)
from matcher.lengths import length_text, shown_unit


def draw(
    opening: OpeningArgument,
    part: Annotated[str | None, typer.Option(help="A part to draw in it, by its number.", show_default=False)] = None,
    adapter: Annotated[str | None, typer.Option(help="An adapter between them.", show_default=False)] = None,
    alteration: AlterationOption = "bolt_on",
    out: Annotated[Path, typer.Option(help="The folder that the files go into.")] = Path("drawings"),
    lang: Annotated[str, typer.Option(help="Language of the drawings: en or de.")] = "en",
    force: ForceOption = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Draw an opening to scale, as found or with a part in it, as SVG files that print at actual size."""
    from matcher.store.database.durable import check_target, write_file

    drawn = open_shop(store).drawings.drawing(opening, part, adapter, alteration=alteration, lang=lang)
    stem = "-".join(_plain(name) for name in (opening, part, adapter) if name)
    _make(out)
    paths = {name: out / f"{stem}-{name}.svg" for name in drawn}
    for file in paths.values():
        check_target(file, force=force)
    files = []
    for name, drawing in drawn.items():
        file = paths[name]
        write_file(file, drawing)
        files.append({"file": str(file), "title": drawing.heading, "w_mm": drawing.w_mm, "h_mm": drawing.h_mm})
    if as_json:
        print_json({"drawings": files})
    else:
        sizes = [f"{length_text(one.w_mm)} × {length_text(one.h_mm)} {shown_unit('mm')}" for one in drawn.values()]
        rows = [[str(one["file"]), size, str(one["title"])] for one, size in zip(files, sizes, strict=True)]
        print_table(["file", "on paper", "shows"], rows)


def _plain(name: str) -> str:
    """Turn a name into a file name that is valid on any system."""
    return "".join(letter if letter.isalnum() or letter in "-_" else "-" for letter in name)


def _make(folder: Path) -> None:
    from matcher.errors import InputError

    if folder.exists() and not folder.is_dir():
        raise InputError(f"{folder} is a file", fix="name a folder with --out")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"the folder {folder} cannot be made: {error.strerror}", fix="name another --out") from None
