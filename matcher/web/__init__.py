"""The counter's page: the shop's questions in a browser, a thin layer over `matcher.Shop`.

A screen is a file here and a template in `templates/`; its texts are in `page.po`. Every response is a whole page: with
JavaScript htmx swaps a part of it, and everything works without.
"""
