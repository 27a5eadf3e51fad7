"""Exact ranked enumeration: whole numbers and names, no part, no rule, no store.

Start at `enumeration`; `choices` says what a slot and a union are, `budget` how a search is ended early.
"""
