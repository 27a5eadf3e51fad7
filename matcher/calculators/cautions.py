"""Cautions for the computations, one sentence each."""

from __future__ import annotations

BATTERY = "Battery negative off first. A fuse before anything else."
FUEL = "Never near fuel lines or tanks; never the orange cables of electric and hybrid vehicles."
GROUND = "Ground as thick as supply, to bare metal, on an existing stud."
COPPER_CLAD = "Copper-clad aluminum has about 1.6 times the resistance: it is sized as such here."
ONE_CHANNEL = "Never tie two channels of an amplifier together. Measure the net before it is plugged in."
HEAVY = "Lift heavy boxes with two. Never fasten the box to seat-belt anchors."
ESTIMATE = "An estimate: free field, half space, 1 m; the cabin adds to it, by how much is not claimed."
HEARING = "Hearing: NIOSH allows 85 dBA for 8 h; every 3 dB more halve the time."
METER_FIRST = "Loudspeakers off while the gain is set with a tone: they do not bear it for long."
LOCAL_LAW = "Films by local law, which is the user's own to know: without a limit the verdict stays unknown."
FRAMELESS = "Frameless glass: cut and finish to the edge; the film peels there first."
LEVEL_AT_EAR = "The level is that at the ear, steady; a sound level meter tells it, a computation does not."
IN_DOUBT = "Where in doubt, a licensed or certified technician."
