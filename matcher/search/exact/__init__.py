"""Exact ranked enumeration over whole numbers and names; independent of parts, rules and store.

Start at `enumeration`. `choices` defines slots and unions; `budget` ends a search early.
"""
