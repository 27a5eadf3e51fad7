"""Drawings: openings to scale, coil nets, block diagrams, curves, templates, as SVG by our own code.

Each is a pure function of what is drawn, the words and a prefix for its ids, and returns a `Drawing`: the SVG as
text, with the title, the description and the size on paper that a page or a paper needs beside it. Papers place it
at ``w_mm`` to keep its scale true; on a page it may shrink, as its scale bar shrinks with it.
"""

from matcher.drawings.coils import coil_net as coil_net
from matcher.drawings.coils import net_of_signs as net_of_signs
from matcher.drawings.dash import dash_front as dash_front
from matcher.drawings.placed import Placed as Placed
from matcher.drawings.speaker_front import speaker_front as speaker_front
from matcher.drawings.speaker_section import speaker_section as speaker_section
from matcher.drawings.svg import Drawing as Drawing
from matcher.drawings.svg import prefix_of as prefix_of
from matcher.drawings.words import Words as Words
