"""The counter's page: the shop's questions in a browser, thin over `matcher.Shop`.

A screen is a file here and one in `templates/`; its words are in `texts.py`. Every page is whole HTML:
htmx swaps a part of it if there is a script, and everything works where there is none.
"""
