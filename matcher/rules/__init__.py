"""The rules of the trade: one file per subject, each rule one declaration.

A question's rules stand in the file of its name (`SPEAKER`, `DASH`): anyone who can ask it has them declared. Only a
list of all rules imports every file.
"""
