"""A job as a tree of choices: what its slots hold as arrays, and how plans, amplifiers and feeds couple them.

`table` is what a family brings to the ranking: a newcomer adds one by filling a `CandidateTable`. `job` puts the tree
together; `found` turns a ranked combination back into parts.
"""
