"""The rules and the shop's settings: comparison, value, source."""

from __future__ import annotations

from typing import Annotated

import typer

from matcher.commands.base import ByOption, JsonOption, StoreOption, open_shop, print_json, print_table, store_path


def rules(
    rule: Annotated[str | None, typer.Argument(help="A rule's name; all where none is given.")] = None,
    as_json: JsonOption = False,
) -> None:
    """List every rule with its source, or show one in full."""
    from matcher.answers.rulebook import rule_page, rulebook

    if rule is None:
        entries = rulebook()
        if as_json:
            print_json({"rules": entries})
        else:
            print_table(["rule", "compares", "source"], [[e["rule"], e["compares"], e["source"]] for e in entries])
        return
    page = rule_page(rule)
    if as_json:
        print_json(page)
    else:
        print_table(["of the rule", page["rule"]], [[key, str(value)] for key, value in page.items() if value])


def settings(
    name: Annotated[str | None, typer.Argument(help="A setting's name.")] = None,
    value: Annotated[str | None, typer.Argument(help="The shop's own value.")] = None,
    unset: Annotated[bool, typer.Option("--unset", help="The default counts again.")] = False,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the shop's settings, or change one."""
    if name is not None and (unset or value is not None):
        open_shop(store).set(name, None if unset else value, by=by)
    from matcher.answers.rulebook import setting_entries

    entries = setting_entries(open_shop(store).settings() if store_path(store).is_file() else None, name)
    if as_json:
        print_json({"settings": entries})
    else:
        rows = [[e["name"], f"{e['value']} {e['unit']}".strip(), e["meaning"], e["source"]] for e in entries]
        print_table(["setting", "value", "meaning", "source"], rows)
