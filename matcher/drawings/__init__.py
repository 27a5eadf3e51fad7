"""Drawings of openings, coil wiring, block diagrams, curves and templates, as SVG without a library.

Each is a pure function of its data, the words (language and units) and a prefix of its ids, unique within a page, and
returns a `Drawing`: the SVG text with its title, description and size on paper. Papers place it at ``w_mm`` to keep its
scale true; on a page it may be smaller, as its scale bar shrinks with it.
"""
