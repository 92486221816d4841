"""What water activity and pH say about how pasta must be kept, and what Italy calls fresh pre-packed pasta.

Information, no verdict that a food is safe: that takes a process, a laboratory and the local authority.
"""

from typing import Literal

from assistant.dough.ranges import PH, WATER_ACTIVITY, WATER_CONTENT_PCT

Control = Literal["not by this table", "product assessment"]

NO_CONTROL_BELOW_AW, NO_CONTROL_BELOW_PH = 0.88, 4.2
"""US Food Code 1-201.10 table B, food not heat-treated (read: below this water activity it isn't TCS food,
above 0.92 and above this pH it needs a product assessment). The cells between were not read: they count as
the stricter ones."""
ITALY_LEAST_PCT, ITALY_AW = 24.0, (0.92, 0.97)
"""Fresh pre-packed pasta in Italy: least moisture, and water activity from to; DPR 187/2001 art. 9 c. 5
(read). It also asks for a heat treatment at least like pasteurisation, and for +4 C."""


def temperature_control(water_activity: float, ph: float) -> Control:
    """Whether food that was not heat-treated needs time and temperature control, by the Food Code."""
    aw, acid = WATER_ACTIVITY.check(water_activity), PH.check(ph)
    if aw < NO_CONTROL_BELOW_AW or acid < NO_CONTROL_BELOW_PH:
        return "not by this table"
    return "product assessment"


def fresh_in_italy(moisture_pct: float, water_activity: float) -> bool:
    """Whether moisture (%) and water activity are those of fresh pre-packed pasta in Italy."""
    least, most = ITALY_AW
    moist = WATER_CONTENT_PCT.check(moisture_pct, "moisture of the pasta") >= ITALY_LEAST_PCT
    return moist and least <= WATER_ACTIVITY.check(water_activity) <= most
