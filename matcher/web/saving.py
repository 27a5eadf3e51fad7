"""Responses to a form that is saved as one types."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from starlette.datastructures import FormData
from starlette.responses import Response

from matcher.errors import InputError
from matcher.store.database.kept_documents import KeptDocument
from matcher.web.form_edit import Fields, FormEdit, StaleForm, read_seen, seen_text
from matcher.web.pages import go, inside, single
from matcher.web.remarks import confirmed, picked, remarks

FormPage = Callable[..., Response]
"""Shows a form's page: of a document, with additional facts."""


def form_facts(fields: Fields, mark: str, **facts: Any) -> dict[str, Any]:
    """Facts for a page with a form: contents of its boxes, its hidden record, and the result of saving."""
    found: dict[str, Any] = {"conflicts": [], "taken": [], "saved": False, "error": None, "problems": {}}
    found |= {"fields": fields, "seen": fields, "mark": mark} | facts
    return found | {
        "seen": seen_text(found["seen"]),
        "remarks": remarks(found["problems"], found["fields"], found["conflicts"]),
    }


def save_form(form: FormData, edit: FormEdit, mine: Fields, page: FormPage) -> Response:
    """Save a form and show the result; continue to the requested page if everything is saved."""
    seen, mark = read_seen(single(form, "seen")), single(form, "mark")
    mine = mine | picked(form)
    try:
        saved = edit.save(mine, seen, mark, confirmed(form))
    except StaleForm as stale:
        theirs = edit.fields_of(stale.kept.document)
        found = {"conflicts": stale.merged.conflicts, "taken": stale.merged.taken, "seen": theirs}
        return page(stale.kept, 409, **form_facts(theirs | stale.merged.fields, stale.kept.mark, **found))
    except InputError as error:
        kept = edit.look()
        now = edit.fields_of(kept.document)
        return page(kept, 400, **form_facts(now | mine, mark, seen=seen, error=error))
    if saved.problems:
        return _in_part(edit, saved.kept, mine, page, problems=saved.problems, taken=saved.taken)
    following = single(form, "then")
    if following:
        return go(inside(following))
    fields = edit.fields_of(saved.kept.document)
    return page(saved.kept, 200, **form_facts(fields, saved.kept.mark, taken=saved.taken, saved=True))


def _in_part(edit: FormEdit, kept: KeptDocument, mine: Fields, page: FormPage, **facts: Any) -> Response:
    """Report boxes that could not be read: they keep their text, with the reason; the rest is saved."""
    now = edit.fields_of(kept.document)
    typed = {name: mine.get(name, "") for name in facts["problems"]}
    return page(kept, 400, **form_facts(now | typed, kept.mark, seen=now, **facts))
