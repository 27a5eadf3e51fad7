"""A job as a tree of choices: slots as arrays, coupled by plans, amplifiers and feeds.

`job` builds the tree; `found` turns a ranked combination back into parts. To add a family, fill a `CandidateTable`.
"""
