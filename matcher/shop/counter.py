"""The counter's page: what it keeps in the store."""

from __future__ import annotations

from matcher.shop.base import Opened


class Counter(Opened):
    """The counter's page: what it keeps in the store."""

    def page_password(self) -> str | None:
        """The hash of the page's password; none where it has none."""
        from matcher.store.page_keeping import page_note

        if not self.store.path.exists():
            return None
        with self.store.reading() as con:
            return page_note(con, "password")

    def set_page_password(self, password_hash: str) -> None:
        """Keep the hash of the page's password, in place of an earlier one."""
        from matcher.store.page_keeping import write_note

        with self.store.changing() as con:
            write_note(con, "password", password_hash)

    def page_secret(self) -> bytes:
        """The secret that the page signs forms with, the same from start to start."""
        import secrets

        from matcher.store.page_keeping import page_note, write_note

        with self.store.changing() as con:
            kept = page_note(con, "secret")
            if kept is None:
                kept = secrets.token_hex(32)
                write_note(con, "secret", kept)
            return bytes.fromhex(kept)
