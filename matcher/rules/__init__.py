"""The rules of the trade: one file per subject, one declaration per rule.

The rules of a scope are in the file of the same name (`SPEAKER`, `DASH`), so importing the scope declares them. Only
the list of all rules imports every file.
"""
