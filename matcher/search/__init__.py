"""Candidates, plans and ranking: what fits, who feeds whom, and which packages are best."""
