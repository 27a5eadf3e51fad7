"""Search: candidates, feeding plans and the ranking of packages."""
