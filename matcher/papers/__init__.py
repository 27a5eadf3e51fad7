"""Papers: for the customer's choice, measuring, ordering, installation, set-up and hand-over.

A paper is data first: `paper` selects the builder of its kind, which makes a `model.Document` from the answers in a
`dossier.Dossier` with the words and numbers of a `writer.Writer`; `html` and `pdf` only render that.
"""
