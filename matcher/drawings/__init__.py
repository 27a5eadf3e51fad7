"""Drawings of openings, coil wiring, block diagrams, curves and templates, as SVG without a library.

Each is a pure function of its data, the words (language and units) and a prefix of its ids, unique within a page, and
returns a `Drawing`: the SVG text with its title, description and size on paper. Papers place it at ``w_mm`` to keep its
scale true; on a page it may be smaller, as its scale bar shrinks with it.
"""

from matcher.drawings.bass_curve import bass_curve as bass_curve
from matcher.drawings.board import board_layout as board_layout
from matcher.drawings.cargo import cargo_space as cargo_space
from matcher.drawings.coils import coil_net as coil_net
from matcher.drawings.coils import net_of_signs as net_of_signs
from matcher.drawings.dash import dash_front as dash_front
from matcher.drawings.margins import margin_bars as margin_bars
from matcher.drawings.measuring import measured_fields as measured_fields
from matcher.drawings.measuring import measuring_sketch as measuring_sketch
from matcher.drawings.placed import Placed as Placed
from matcher.drawings.speaker_front import speaker_front as speaker_front
from matcher.drawings.speaker_section import speaker_section as speaker_section
from matcher.drawings.svg import Drawing as Drawing
from matcher.drawings.svg import prefix_of as prefix_of
from matcher.drawings.system import system_diagram as system_diagram
from matcher.drawings.template import cut_template as cut_template
from matcher.drawings.template import drill_template as drill_template
from matcher.drawings.words import DrawingWords as DrawingWords
