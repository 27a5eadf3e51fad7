"""The counter's page: its data in the store, and its lists."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalog_schema.printable import is_name
from matcher.errors import InputError
from matcher.shop.base import ShopPart

if TYPE_CHECKING:
    from matcher.store.records.page_keeping import CustomerLink, CustomerNote, OpenLink


class ShopPage(ShopPart):
    """The counter's page: its data in the store, and its lists."""

    def password(self) -> str | None:
        """Return the hash of the page's password; None if it has none."""
        from matcher.store.records.page_keeping import page_note

        if not self.store.exists():
            return None
        with self.store.reading() as con:
            return page_note(con, "password")

    def set_password(self, password_hash: str) -> None:
        """Store the hash of the page's password, in place of an earlier one.

        Raises
        ------
        InputError
            if there is no store yet.
        """
        from matcher.store.records.page_keeping import write_note

        self.store.check_exists()
        with self.store.changing(own=True) as con:
            write_note(con, "password", password_hash)

    def secret(self) -> bytes:
        """Return the secret that signs the page's forms; once there is a store, it survives restarts."""
        import secrets

        from matcher.store.records.page_keeping import page_note, write_note

        if not self.store.exists():  # viewing the page does not create a store
            return secrets.token_bytes(32)
        with self.store.changing(own=True) as con:
            kept = page_note(con, "secret")
            if kept is None:
                kept = secrets.token_hex(32)
                write_note(con, "secret", kept)
            return bytes.fromhex(kept)

    def add_link(self, job_id: str, what: str, page: str, *, days: int, by: str | None = None) -> str:
        """Keep a page as it is now for a customer to open by a link.

        Parameters
        ----------
        what
            Description for the list of links.
        page
            The page's whole HTML.
        days
            Days until the link expires.

        Returns
        -------
        str
            The token that opens it, shown only this once: the store keeps its hash.
        """
        from matcher.store.database.kept_documents import stored_job
        from matcher.store.records.page_keeping import add_link

        with self.store.changing() as con:
            stored_job(con, job_id)
            return add_link(con, job_id, what, page, days=days, by=by)

    def links(self, job_id: str) -> list[CustomerLink]:
        """Return the links of a job, latest first."""
        from matcher.store.records.page_keeping import links_of

        with self.store.reading() as con:
            return links_of(con, job_id)

    def revoke_link(self, name: str, *, by: str | None = None) -> str:
        """Revoke a link; return its job.

        Raises
        ------
        NotKnown
            if there is no such link.
        """
        from matcher.store.records.page_keeping import revoke_link

        with self.store.changing() as con:
            return revoke_link(con, name, by)

    def open_link(self, token: str) -> OpenLink | None:
        """Return the link that a token opens, with its page; None if the token is unknown, expired or revoked."""
        from matcher.store.records.page_keeping import open_link

        with self.store.reading() as con:
            return open_link(con, token)

    def accept_offer(self, token: str, letter: str, name: str) -> str | None:
        """Record that a customer accepts a package of an offer; return what was accepted, or None if nothing can be."""
        from matcher.store.records.page_keeping import accept_offer

        with self.store.changing() as con:
            return accept_offer(con, token, letter, name)

    def ask(self, token: str, question: str) -> bool:
        """Record a customer's question to the shop; return whether it was, since too many in a day are refused."""
        from matcher.store.records.page_keeping import ask_shop

        with self.store.changing() as con:
            return ask_shop(con, token, question)

    def answer(self, job_id: str, text: str, *, by: str | None = None) -> None:
        """Record the shop's answer to a job's customer, who sees it on the page of each link.

        Raises
        ------
        InputError
            if it is empty, or not one line.
        """
        from matcher.store.database.kept_documents import stored_job
        from matcher.store.database.provenance import record
        from matcher.store.records.page_keeping import ANSWER

        if not text or not is_name(text):
            raise InputError("there is no answer to send", fix="write it in one line, without control characters")
        with self.store.changing() as con:
            stored_job(con, job_id)
            record(con, ANSWER, f"job:{job_id}", text, by=by)

    def notes(self, job_id: str) -> list[CustomerNote]:
        """Return the acceptances, questions and answers about a job's offers, oldest first."""
        from matcher.store.records.page_keeping import customer_notes

        with self.store.reading() as con:
            return customer_notes(con, job_id)
