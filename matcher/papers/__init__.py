"""Papers: what the customer chooses from, what is measured, ordered, built, set up and handed over.

A paper is data first: `paper` picks the builder of its kind, which makes a `model.Document` from the answers in a
`dossier.Dossier` with the words and numbers of a `writer.Writer`; `html` and `pdf` draw that and nothing else.
"""
