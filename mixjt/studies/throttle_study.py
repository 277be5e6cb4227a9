"""The throttle of a machine: what to cut from a reel of capillary, or what a given tube or needle valve passes."""

from __future__ import annotations

from dataclasses import dataclass, replace

from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import VAPOUR, State
from mixjt.keys import TEXT, WHOLE, key
from mixjt.parts.recuperator.friction import TWO_PHASE_VISCOSITIES
from mixjt.parts.throttle.capillary import (
    CAPILLARY_BAND,
    DRAWN_COPPER,
    SHARP_ENTRANCE,
    Capillary,
    diameter_of_flow,
    length_of_flow,
)
from mixjt.parts.throttle.capillary_cases import (
    Exchange,
    ThrottleFlow,
    Variant,
    bore_variants,
    solve_flow,
    solve_length,
)
from mixjt.parts.throttle.expansion import ExpansionLine, expansion_line
from mixjt.parts.throttle.valve import chokes, kv_iec, kv_of_flow, valve_flow

# Bores [m] of capillary that refrigeration shops and tube makers sell; common practice, no source
USUAL_BORES = tuple(1e-3 * bore for bore in (0.5, 0.6, 0.66, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.37, 1.5, 1.6, 2.0))
SHORTEST, LONGEST = 0.3, 6.0  # m; common practice, no source: outside them a bore is awkward to use
TOLERANCE, DEBRIS = 2e-5, 5e-5  # m of diameter; common practice, no source
LAMINAR_LIMIT = 4000.0  # Reynolds number below which friction is uncertain


@dataclass(frozen=True)
class ThrottleRequest:
    """What is known of the throttle.

    diameter and length [m] of capillary: with both the flow is found, with one the other; parallel tubes; tolerance
    and debris [m]; bores [m] to compare; kv [m3/h] of a needle valve, for its flow.

    Raises
    ------
    InputError
        Where neither diameter nor length is given.
    """

    diameter: float | None = key(
        "length", "the inner diameter of the capillary", default=None, within="[5e-5, 2e-2]", otherwise="to be found"
    )
    length: float | None = key(
        "length", "the length of the capillary", default=None, within="[1e-3, 100]", otherwise="to be found"
    )
    parallel: int = key(WHOLE, "equal capillaries side by side", default=1, within="[1, 100]")
    roughness: float = key("length", "the roughness of the bore", default=DRAWN_COPPER, within="[0, 1e-4]")
    entrance_loss: float = key(
        "number", "the loss coefficient of the entrance, 0.5 for a square edge", default=SHARP_ENTRANCE,
        within="[0, 10]",
    )
    tolerance: float = key(
        "length", "what the diameter may be off, to either side", default=TOLERANCE, within="[0, 1e-3]"
    )
    debris: float = key("length", "the diameter lost to wax or debris", default=DEBRIS, within="[0, 1e-3]")
    viscosity: str = key(
        TEXT, "how liquid and vapour share one viscosity", at="two_phase_viscosity", default="McAdams",
        choices=tuple(TWO_PHASE_VISCOSITIES),
    )
    exchange: Exchange | None = None
    bores: tuple[float, ...] = key(
        "length", "diameters to compare", default=USUAL_BORES, within="[5e-5, 2e-2]", many=True, otherwise="usual ones"
    )
    kv: float | None = key(
        "number", "the Kv in m3/h of a needle valve to compare", at="valve_kv", default=None, within="(0, 100]"
    )

    def __post_init__(self):
        if self.diameter is None and self.length is None:
            raise InputError("a throttle needs its diameter, its length, or both")
        if self.exchange is not None and self.diameter is None:
            raise InputError("heat to the return line needs a stated diameter")

    def tube(self, diameter: float, length: float) -> Capillary:
        """Such a tube."""
        return Capillary(diameter, length, self.parallel, self.roughness, self.entrance_loss)


@dataclass(frozen=True)
class Bore:
    """Length [m] of a tube of one diameter [m] at the circuit's flow; None where it cannot pass it."""

    diameter: float
    length: float | None


@dataclass(frozen=True)
class ThrottleResult:
    """The throttle of a circuit.

    found names what was asked: "length", "diameter" or "flow". wanted is the circuit's mass flow [kg/s]. kv is what a
    needle valve needs for it by homogeneous expansion, kv_iec by IEC 60534 (None for a two-phase inlet), valve_flow
    [kg/s] what the stated valve passes.
    """

    found: str
    request: ThrottleRequest
    solved: ThrottleFlow
    inlet: State
    outlet: State
    wanted: float
    variants: tuple[Variant, ...]
    bores: tuple[Bore, ...]
    kv: float
    kv_iec: float | None
    valve_chokes: bool
    valve_flow: float | None
    flash_position: float | None  # m from the entrance, where the first vapour appears; None where there is none
    warnings: tuple[str, ...]


def solve_throttle(
    fluid: Fluid, inlet: State, outlet_pressure: float, mass_flow: float, request: ThrottleRequest
) -> ThrottleResult:
    """Size a throttle for a mass flow, or find the flow of a given one.

    Parameters
    ----------
    fluid : Fluid
    inlet : State
        Before the throttle.
    outlet_pressure : float
        Behind it [Pa].
    mass_flow : float
        Of the circuit [kg/s].
    request : ThrottleRequest

    Raises
    ------
    InputError, UnreachableError, ConvergenceError
        As the functions of `mixjt.parts.throttle.capillary`.
    """
    adiabatic = expansion_line(fluid, inlet, outlet_pressure, viscosity=request.viscosity)
    found, solved = _solved(fluid, adiabatic, outlet_pressure, mass_flow, request)
    outlet = fluid.hp(inlet.enthalpy - solved.heat, outlet_pressure)
    flash = _flash_position(solved)
    return ThrottleResult(
        found=found,
        request=request,
        solved=solved,
        inlet=inlet,
        outlet=outlet,
        wanted=mass_flow,
        variants=bore_variants(solved, request.tolerance, request.debris),
        bores=tuple(_bore(adiabatic, bore, mass_flow, request) for bore in request.bores),
        kv=kv_of_flow(adiabatic, mass_flow),
        kv_iec=kv_iec(fluid, inlet, outlet_pressure, mass_flow) if len(inlet.phases) == 1 else None,
        valve_chokes=chokes(adiabatic),
        valve_flow=None if request.kv is None else valve_flow(adiabatic, request.kv),
        flash_position=flash,
        warnings=_warnings(found, solved, inlet, mass_flow),
    )


def _solved(fluid, line: ExpansionLine, outlet_pressure, mass_flow, request) -> tuple[str, ThrottleFlow]:
    options = {"exchange": request.exchange, "viscosity": request.viscosity}
    if request.diameter is None:
        start = request.tube(max(1e-3, 21.0 * request.roughness), request.length)
        tube = replace(start, diameter=diameter_of_flow(line, mass_flow, start))
        return "diameter", solve_flow(fluid, line.inlet, outlet_pressure, tube, **options)
    if request.length is None:
        tube = request.tube(request.diameter, 1.0)
        return "length", solve_length(fluid, line.inlet, outlet_pressure, tube, mass_flow, **options)
    tube = request.tube(request.diameter, request.length)
    return "flow", solve_flow(fluid, line.inlet, outlet_pressure, tube, **options)


def _bore(line: ExpansionLine, diameter: float, mass_flow: float, request: ThrottleRequest) -> Bore:
    try:
        return Bore(diameter, length_of_flow(line, mass_flow, request.tube(diameter, 1.0)))
    except UnreachableError:
        return Bore(diameter, None)


def _flash_position(solved: ThrottleFlow) -> float | None:
    """Where the first vapour appears; None for an inlet with vapour, or liquid to the end."""
    wet = solved.march.vapour_fractions > 1e-4
    if wet[0] or not wet.any():
        return None
    return float(solved.march.positions[int(wet.argmax())])


def _warnings(found: str, solved: ThrottleFlow, inlet: State, wanted: float) -> tuple[str, ...]:
    tube, end = solved.tube, solved.march
    band = f"{100 * CAPILLARY_BAND:.0f} %"
    notes = [f"flows are good to {band} or so, lengths to twice that: cut the tube long, measure, shorten it"]
    if any(phase.kind == VAPOUR for phase in inlet.phases) and len(inlet.phases) > 1:
        notes.append("vapour enters the throttle with the liquid: the flow may surge and the model is at its weakest")
    if found == "flow" and abs(solved.mass_flow / wanted - 1.0) > CAPILLARY_BAND:
        more = "more" if solved.mass_flow > wanted else "less"
        notes.append(
            f"the tube passes {more} than the compressor delivers between these pressures ({solved.mass_flow * 1e3:.3g} "
            f"against {wanted * 1e3:.3g} g/s): the pressures will settle elsewhere"
        )
    if not SHORTEST <= tube.length <= LONGEST:
        notes.append(
            f"a length of {tube.length:.3g} m lies outside the usual {SHORTEST:g} to {LONGEST:g} m: take another "
            "diameter or number of tubes"
        )
    if solved.crossing is not None:
        notes.append(
            f"from {solved.crossing:.3g} m on the tube is colder than its return line: solder only the part before it"
        )
    if end.reynolds.min() < LAMINAR_LIMIT:
        notes.append(f"Reynolds number down to {end.reynolds.min():.0f}: friction between laminar and turbulent")
    return tuple(notes)
