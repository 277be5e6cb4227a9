"""Roads compared in further processes: what is found here."""

import pytest
from test_compare import GASES, request

from mixjt.circuit.solve import PLAIN, SEPARATOR
from mixjt.errors import MixjtError
from mixjt.fluid.models import load_model
from mixjt.studies.compare.compare import compare
from mixjt.studies.search.finish import TOLERANCE
from mixjt.workers import Workers

pytestmark = pytest.mark.slow


def test_further_processes_find_the_same(monkeypatch):
    model, answered, wanted = load_model("multi-fluid", GASES), [], request(roads=(PLAIN, SEPARATOR, "cascade-2"), steps=2)
    found = compare(model, wanted)

    def count(self, future, method, *given, real=Workers.answer):
        assert self.pools and isinstance(future.exception(), MixjtError | None)
        answered.append(method)
        return real(self, future, method, *given)

    monkeypatch.setattr(Workers, "answer", count)
    shared = compare(model, wanted, processes=2)
    blends, cascades = {"blends.at_cold_end", "blends.near", "blends.power_at"}, {"cascades.choose", "cascades.near", "cascades.warmings"}
    assert set(answered) == blends | cascades

    def rows(comparison):
        return [(one.name, p.temperature, p.contents) for one in comparison.roads for p in one.line]

    assert rows(shared) == rows(found)
    for one, other in zip(shared.roads, found.roads, strict=True):
        # arrays lie otherwise in another process's memory: sums round otherwise, and a polish may end a step sooner
        close = TOLERANCE if one.is_blend else 1e-8
        assert [p.power for p in one.line] == pytest.approx([p.power for p in other.line], rel=close)
        assert one.lowest_temperature == pytest.approx(other.lowest_temperature, rel=1e-8)
    powers = [[one.equal_power or 0.0 for one in comparison.roads] for comparison in (shared, found)]
    assert max(powers[0]) > 0.0 and powers[0] == pytest.approx(powers[1], rel=TOLERANCE)
    assert [lost[:2] for lost in shared.lost] == [lost[:2] for lost in found.lost]
    assert shared.advice == found.advice and shared.crossing.sentence == found.crossing.sentence
