"""Terms computed from several figures: an edge by its rank, a slope, a turn, a Q.

Their tolerance is the worst case, with every figure off as far as it may be. `matcher.kernel.worked` computes them.
"""

from __future__ import annotations

from typing import ClassVar

from matcher.rules.terms import Term


class Worked(Term):
    """A value computed from some terms; unknown if one of them is."""

    terms: tuple[Term, ...]


class Ranked(Worked):
    """The n-th smallest of some terms; it moves by no more than the widest tolerance among them."""

    place: int

    def __str__(self) -> str:
        named = "smallest" if self.place == 1 else "largest" if self.place == len(self.terms) else "middle one"
        return f"the {named} of {', '.join(map(str, self.terms))}"


class Steady(Worked):
    """A monotonic function of each of its terms: its extremes are where all of them are off at once."""

    rises: ClassVar[tuple[bool, ...]]


class Turned(Steady):
    """Long side of an aperture that admits a rectangle, turned in its plane if that helps.

    The terms are the rectangle's long and short side and the aperture's short side (Carver 1957). At the angle t that
    fills the aperture's short side, p sin t + q cos t = b, the rectangle is p cos t + q sin t long; that is less than p
    only if t exceeds twice the angle of its diagonal.
    """

    rises = (True, True, False)

    text = "long side of an aperture of {terms[2]} that {terms[0]} by {terms[1]} goes through, turned in it"


class DepthAt(Worked):
    """Depth of a space with a straight sloped back, at a height.

    The terms are its depth at the floor and at the top, its height, and the height in question; above the top, the
    depth is that at the top.
    """

    text = "depth at a height of {terms[3]}"


class ClosedQ(Steady):
    """Q of a driver in a closed box shared by several of its kind: Qts x sqrt(1 + Vas/Vb).

    The terms are Qts, Vas, the net volume of the whole box, and the number of drivers that share it.
    """

    rises = (True, True, False, True)

    text = "{terms[0]} x sqrt(1 + {terms[3]} x {terms[1]} / {terms[2]})"


class VentedPeak(Worked):
    """Highest level of a vented box's response relative to that at high frequencies, in dB: Small 1973.

    The terms are fs, Qts and Vas of the driver, the net volume of the whole box, the number of drivers that share it,
    its tuning, and the Q of its losses.
    """

    text = "peak of the vented box's response with losses of Q {terms[6]}"


class Times(Steady):
    """A size times a count."""

    rises = (True, True)

    text = "{terms[1]} x {terms[0]}"


class Through(Worked):
    """Light transmitted by two layers in sequence, in percent.

    Worst case: each layer's tolerance times the transmission of the other.
    """

    text = "{terms[0]} x {terms[1]} / 100"
