"""The counter's page: served from this machine."""

from __future__ import annotations

import os
from typing import Annotated

import typer

from matcher.commands.base import StoreOption, open_shop, say

PORT = 8740


def serve(
    host: Annotated[str, typer.Option(help="The address to listen at; default: this machine alone.")] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=0, max=65535, help="The port; 0 takes a free one.")] = PORT,
    name: Annotated[
        list[str] | None, typer.Option("--name", help="A host name that the page is reached by.", show_default=False)
    ] = None,
    seconds: Annotated[
        float | None,
        typer.Option(min=0.1, help="How long a ranking may look; default: to the end.", show_default=False),
    ] = None,
    set_password: Annotated[
        bool,
        typer.Option("--set-password", help="Give the page a password, asked for here or in BOLTBACK_PASSWORD."),
    ] = False,
    store: StoreOption = None,
) -> None:
    """Serve the counter's page: jobs, options, fit check, catalog, papers."""
    from matcher.web.auth import hash_password
    from matcher.web.server import check_password, serve

    shop = open_shop(store)
    if set_password:
        password = os.environ.get("BOLTBACK_PASSWORD") or typer.prompt(
            "password for the page", hide_input=True, confirmation_prompt=True, err=True
        )
        check_password(password)
        shop.page.set_password(hash_password(password))
        say(f"the page of {shop.store.path} has a password now; `boltback serve` asks for it")
        return
    serve(shop, host, port, names=name or [], seconds=seconds, tell=say)
