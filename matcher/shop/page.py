"""The counter's page: its data in the store, and its lists."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matcher.shop.base import ShopPart

if TYPE_CHECKING:
    from matcher.store.records.page_keeping import Acceptance, CustomerLink


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

    def linked_page(self, token: str) -> str | None:
        """Return the page that a token opens; None if the token is unknown, expired or revoked."""
        from matcher.store.records.page_keeping import linked_page

        with self.store.reading() as con:
            return linked_page(con, token)

    def accept_offer(self, token: str, letter: str, name: str) -> str | None:
        """Record that a customer accepts a package of an offer; return what was accepted, or None if nothing can be."""
        from matcher.store.records.page_keeping import accept_offer

        with self.store.changing() as con:
            return accept_offer(con, token, letter, name)

    def acceptances(self, job_id: str) -> list[Acceptance]:
        """Return the customers' acceptances of a job's offers, the latest first."""
        from matcher.store.records.page_keeping import acceptances

        with self.store.reading() as con:
            return acceptances(con, job_id)
