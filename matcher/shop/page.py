"""The counter's page: what it keeps in the store, and what it lists."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matcher.shop.base import ShopPart

if TYPE_CHECKING:
    from matcher.store.records.page_keeping import Acceptance, CustomerLink


class ShopPage(ShopPart):
    """The counter's page: what it keeps in the store, and what it lists."""

    def password(self) -> str | None:
        """The hash of the page's password; None if it has none."""
        from matcher.store.records.page_keeping import page_note

        if not self.store.exists():
            return None
        with self.store.reading() as con:
            return page_note(con, "password")

    def set_password(self, password_hash: str) -> None:
        """Keep the hash of the page's password, in place of an earlier one.

        Raises
        ------
        InputError
            if there is no store to keep it in.
        """
        from matcher.store.records.page_keeping import write_note

        self.store.check_exists()
        with self.store.changing(own=True) as con:
            write_note(con, "password", password_hash)

    def secret(self) -> bytes:
        """The secret that the page signs forms with, the same from start to start once there is a store."""
        import secrets

        from matcher.store.records.page_keeping import page_note, write_note

        if not self.store.exists():  # it begins with the first list, not with looking at the page
            return secrets.token_bytes(32)
        with self.store.changing(own=True) as con:
            kept = page_note(con, "secret")
            if kept is None:
                kept = secrets.token_hex(32)
                write_note(con, "secret", kept)
            return bytes.fromhex(kept)

    def add_link(self, job_id: str, what: str, page: str, *, days: int, by: str | None = None) -> str:
        """Keep a page as it is now for a customer to look at.

        Parameters
        ----------
        what
            What it shows, for the list of links.
        page
            All of it, as HTML.
        days
            How long it is to be opened.

        Returns
        -------
        str
            The token that opens it: it is shown this once, and only its hash is kept.
        """
        from matcher.store.database.kept_documents import stored_job
        from matcher.store.records.page_keeping import add_link

        with self.store.changing() as con:
            stored_job(con, job_id)
            return add_link(con, job_id, what, page, days=days, by=by)

    def links(self, job_id: str) -> list[CustomerLink]:
        """The links of a job, the latest first."""
        from matcher.store.records.page_keeping import links_of

        with self.store.reading() as con:
            return links_of(con, job_id)

    def revoke_link(self, name: str, *, by: str | None = None) -> str:
        """Let a link open nothing any more; its job.

        Raises
        ------
        NotKnown
            if there is no such link.
        """
        from matcher.store.records.page_keeping import revoke_link

        with self.store.changing() as con:
            return revoke_link(con, name, by)

    def linked_page(self, token: str) -> str | None:
        """Return the page that a token opens; None if it opens none, or no longer."""
        from matcher.store.records.page_keeping import linked_page

        with self.store.reading() as con:
            return linked_page(con, token)

    def accept_offer(self, token: str, letter: str, name: str) -> str | None:
        """Write down that a customer accepts a package of an offer; what is accepted, or None if nothing can be."""
        from matcher.store.records.page_keeping import accept_offer

        with self.store.changing() as con:
            return accept_offer(con, token, letter, name)

    def acceptances(self, job_id: str) -> list[Acceptance]:
        """Return the customers' acceptances of a job's offers, the latest first."""
        from matcher.store.records.page_keeping import acceptances

        with self.store.reading() as con:
            return acceptances(con, job_id)
