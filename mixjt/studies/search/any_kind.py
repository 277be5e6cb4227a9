"""The search for the kind of circuit that a request holds."""

from __future__ import annotations

from dataclasses import replace

from mixjt.circuit.layouts.separator import SeparatorCircuit
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.fluid.states import PropertyModel
from mixjt.studies.search import search as run
from mixjt.studies.search.search_request import SearchRequest
from mixjt.studies.search.search_result import SearchResult
from mixjt.studies.search.separator_search import STILL_PLAIN, search_separator


def search_kind(
    model: PropertyModel, request: SearchRequest, plain: ThrottleCircuit, progress: run.Progress | None = None
) -> SearchResult:
    """Search for plain and precooled circuits; for a separator, polish what the plain search finds.

    Parameters
    ----------
    model : PropertyModel
        Of at least request.gases.
    request : SearchRequest
    plain : ThrottleCircuit
        The same machine without precooler and separator.
    progress : function, optional
        See `mixjt.studies.search.search.search`.
    """
    if not isinstance(request.circuit, SeparatorCircuit):
        return run.search(model, request, progress)
    for_plain = replace(request, circuit=plain)
    found = run.search(model, for_plain, progress)
    if found.interrupted:
        return replace(found, messages=(*found.messages, STILL_PLAIN))
    return search_separator(model, for_plain, request.circuit, found, progress)
