"""Two points of every measured series of the validation page, typed from the papers' data in NIST's ThermoML archive.

The first of a series is the one that the default parameters miss by most.
"""

from typing import NamedTuple


class Point(NamedTuple):
    """Bubble pressure [Pa] of a liquid with this mole fraction of the first gas, at a temperature [K]."""

    gases: tuple[str, str]
    doi: str
    temperature: float
    share: float
    pressure: float
    worst: bool


POINTS = (
    Point(("tetrafluoromethane", "ethane"), "doi:10.1021/je050525c", 200.68, 0.013, 324000, True),
    Point(("tetrafluoromethane", "ethane"), "doi:10.1021/je050525c", 200.68, 0.296, 1097000, False),
    Point(("trifluoromethane", "n-butane"), "doi:10.1016/j.jct.2009.06.009", 283.15, 0.7303, 2727000, True),
    Point(("trifluoromethane", "n-butane"), "doi:10.1016/j.jct.2009.06.009", 303.15, 0.1374, 1679000, False),
    Point(("trifluoromethane", "ethane"), "doi:10.1016/j.fluid.2017.07.002", 173.88, 0.0391, 73480, True),
    Point(("trifluoromethane", "ethane"), "doi:10.1016/j.fluid.2017.07.002", 183.3, 0.1147, 139970, False),
    Point(("trifluoromethane", "ethane"), "doi:10.1021/je0601107", 198.66, 0.9059, 273500, True),
    Point(("trifluoromethane", "ethane"), "doi:10.1021/je0601107", 243.76, 0.8818, 1389600, False),
    Point(("trifluoromethane", "propane"), "doi:10.1016/j.jct.2009.06.009", 283.15, 0.0317, 908000, True),
    Point(("trifluoromethane", "propane"), "doi:10.1016/j.jct.2009.06.009", 303.15, 0.3056, 3254000, False),
    Point(("trifluoromethane", "propane"), "doi:10.1016/j.jct.2016.12.021", 293.18, 0.053, 1353800, True),
    Point(("trifluoromethane", "propane"), "doi:10.1016/j.jct.2016.12.021", 353.15, 0.062, 4001500, False),
    Point(("argon", "methane"), "doi:10.1021/acs.jced.8b00280", 119.94, 0.1949, 426830, True),
    Point(("argon", "methane"), "doi:10.1021/acs.jced.8b00280", 129.89, 0.7819, 1635900, False),
    Point(("isobutane", "n-butane"), "doi:10.1021/je049671t", 240, 0.25, 26100, True),
    Point(("isobutane", "n-butane"), "doi:10.1021/je049671t", 300, 0.25, 284800, False),
    Point(("methane", "tetrafluoromethane"), "doi:10.1021/je0604030", 159.61, 0.647, 1202000, True),
    Point(("methane", "tetrafluoromethane"), "doi:10.1021/je0604030", 173.9, 0.238, 1332000, False),
    Point(("methane", "n-butane"), "doi:10.1016/j.fluid.2005.03.032", 310.95, 0.6111, 1.262e+07, True),
    Point(("methane", "n-butane"), "doi:10.1016/j.fluid.2005.03.032", 310.95, 0.5905, 1.227e+07, False),
    Point(("methane", "n-butane"), "doi:10.1021/acs.jced.5b00610", 244.48, 0.7764, 1.0132e+07, True),
    Point(("methane", "n-butane"), "doi:10.1021/acs.jced.5b00610", 244.52, 0.4601, 6005000, False),
    Point(("methane", "ethane"), "doi:10.1016/j.fluid.2013.07.008", 93.15, 0.141, 2000, True),
    Point(("methane", "ethane"), "doi:10.1016/j.fluid.2013.07.008", 213.15, 0.024, 525000, False),
    Point(("methane", "ethane"), "doi:10.1021/acs.jced.5b00610", 243.61, 0.2865, 3718000, True),
    Point(("methane", "ethane"), "doi:10.1021/acs.jced.5b00610", 243.61, 0.5957, 6691000, False),
    Point(("methane", "ethane"), "doi:10.1021/je700210n", 140.036, 0.7423, 500000, True),
    Point(("methane", "ethane"), "doi:10.1021/je700210n", 149.945, 0.33, 391600, False),
    Point(("methane", "isobutane"), "doi:10.1021/acs.jced.5b00610", 243.6, 0.23, 2642000, True),
    Point(("methane", "isobutane"), "doi:10.1021/acs.jced.5b00610", 213.39, 0.6565, 5118000, False),
    Point(("methane", "n-pentane"), "doi:10.1016/j.fluid.2017.10.023", 313.15, 0.43, 1.26e+07, True),
    Point(("methane", "n-pentane"), "doi:10.1016/j.fluid.2017.10.023", 313.15, 0.181, 5100000, False),
    Point(("methane", "n-pentane"), "doi:10.1021/je200101x", 173.43, 0.996, 2417000, True),
    Point(("methane", "n-pentane"), "doi:10.1021/je200101x", 188.43, 0.938, 3937000, False),
    Point(("methane", "propane"), "doi:10.1021/acs.jced.5b00610", 243.62, 0.071, 891000, True),
    Point(("methane", "propane"), "doi:10.1021/acs.jced.5b00610", 243.62, 0.5565, 6402000, False),
    Point(("nitrogen", "ethane"), "doi:10.1021/je700210n", 169.873, 0.2041, 5002900, True),
    Point(("nitrogen", "ethane"), "doi:10.1021/je700210n", 170.039, 0.0184, 559700, False),
    Point(("nitrogen", "methane"), "doi:10.1021/je700210n", 130.079, 0.0461, 613700, True),
    Point(("nitrogen", "methane"), "doi:10.1021/je700210n", 149.928, 0.5938, 4527300, False),
    Point(("nitrogen", "n-pentane"), "doi:10.1016/j.fluid.2006.09.018", 398.3, 0.503, 2.123e+07, True),
    Point(("nitrogen", "n-pentane"), "doi:10.1016/j.fluid.2006.09.018", 398.3, 0.0589, 3900000, False),
    Point(("propane", "n-butane"), "doi:10.1021/acs.jced.5b00308", 285, 0.217, 263640, True),
    Point(("propane", "n-butane"), "doi:10.1021/acs.jced.5b00308", 275, 0.217, 190960, False),
    Point(("propane", "n-butane"), "doi:10.1021/je0496701", 290, 0.8039, 675100, True),
    Point(("propane", "n-butane"), "doi:10.1021/je0496701", 290, 0.6934, 586200, False),
    Point(("propane", "n-butane"), "doi:10.1021/je049671t", 340, 0.5, 1494800, True),
    Point(("propane", "n-butane"), "doi:10.1021/je049671t", 320, 0.75, 1270500, False),
    Point(("propane", "n-butane"), "doi:10.1021/je800377b", 273.15, 0.228, 188000, True),
    Point(("propane", "n-butane"), "doi:10.1021/je800377b", 293.15, 0.201, 326000, False),
    Point(("propane", "isobutane"), "doi:10.1021/je0496701", 280, 0.1834, 252300, True),
    Point(("propane", "isobutane"), "doi:10.1021/je0496701", 280, 0.8095, 492500, False),
    Point(("propane", "isobutane"), "doi:10.1021/je049671t", 280, 0.25, 281400, True),
    Point(("propane", "isobutane"), "doi:10.1021/je049671t", 360, 0.75, 2910600, False),
    Point(("propane", "n-pentane"), "doi:10.1021/acs.jced.9b00249", 397.7, 0.78, 4520000, True),
    Point(("propane", "n-pentane"), "doi:10.1021/acs.jced.9b00249", 409.3, 0.474, 3610000, False),
    Point(("propylene", "propane"), "doi:10.1016/j.fluid.2006.03.009", 303.15, 0.283, 1154400, True),
    Point(("propylene", "propane"), "doi:10.1016/j.fluid.2006.03.009", 293.15, 0.518, 946600, False),
)
