"""The graph of an assembly, against networkx on random graphs, and by hand on small ones."""

import itertools

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.assembly import (
    direct,
    find_ring,
    levels,
    longest_chain,
    work_order,
)


@st.composite
def waits(draw, rings: bool = False):
    """Steps in any order of the sheet; without rings, each waits for ones before it in another."""
    count = draw(st.integers(1, 12))
    names = [f"s{index}" for index in range(count)]
    hidden = draw(st.permutations(names))
    found = {}
    for index, name in enumerate(hidden):
        offered = hidden if rings else hidden[:index]
        chosen = st.lists(st.sampled_from(offered), unique=True, max_size=4) if offered else None
        found[name] = draw(chosen) if chosen is not None else []
    return {name: found[name] for name in names}


def graph_of(after) -> nx.DiGraph:
    graph = nx.DiGraph()
    graph.add_nodes_from(after)
    graph.add_edges_from((before, name) for name, befores in after.items() for before in befores)
    return graph


@given(waits())
def test_order_is_the_first_topological_one_by_the_sheet(after):
    place = list(after).index
    assert list(work_order(after)) == list(
        nx.lexicographical_topological_sort(graph_of(after), key=place)
    )


@given(waits(), st.data())
def test_with_stations_nothing_comes_before_what_it_waits_for(after, data):
    station = {name: data.draw(st.sampled_from("abc")) for name in after}
    order = work_order(after, station)
    assert sorted(order) == sorted(after)
    for name, befores in after.items():
        assert all(order.index(before) < order.index(name) for before in befores)


@given(waits(), st.data())
def test_a_station_is_left_only_when_nothing_there_is_free(after, data):
    station = {name: data.draw(st.sampled_from("abc")) for name in after}
    order = work_order(after, station)
    for index, (one, other) in enumerate(itertools.pairwise(order), 1):
        done = set(order[:index])
        free = [name for name in after if name not in done and set(after[name]) <= done]
        if station[other] != station[one]:
            assert all(station[name] != station[one] for name in free)


@given(waits())
def test_one_station_is_no_station(after):
    assert work_order(after, dict.fromkeys(after, "bench")) == work_order(after)


def test_work_goes_on_where_it_can_be_finished():
    after = {"a": [], "s": [], "t": ["c"], "c": []}
    station = {"a": "vice", "s": "stand", "t": "stand", "c": "cradle"}
    # the stand is first on the sheet, but its second step waits for the cradle
    assert work_order(after, station) == ("a", "c", "s", "t")


@given(waits(rings=True))
def test_a_ring_is_found_where_there_is_one_and_is_true(after):
    ring = find_ring(after)
    assert bool(ring) == (not nx.is_directed_acyclic_graph(graph_of(after)))
    if ring:
        assert ring[0] == ring[-1]
        assert len(set(ring)) == len(ring) - 1
        assert all(before in after[name] for before, name in itertools.pairwise(ring))
        with pytest.raises(ValueError, match=" → ".join(ring)):
            work_order(after)


def test_a_step_that_is_not_there_is_named_as_a_path():
    with pytest.raises(ValueError, match="lid → box"):
        work_order({"lid": ["box"]})


@given(waits())
def test_levels_are_those_of_the_generations(after):
    wanted = {
        name: level
        for level, names in enumerate(nx.topological_generations(graph_of(after)))
        for name in names
    }
    assert levels(after) == wanted


@given(waits(), st.data())
def test_longest_chain_is_as_long_as_networkx_finds_it(after, data):
    own = {name: float(data.draw(st.integers(0, 9))) for name in after}
    graph = nx.DiGraph()
    for name, befores in after.items():
        graph.add_edge(("in", name), ("out", name), weight=own[name])
        for before in befores:
            graph.add_edge(("out", before), ("in", name), weight=0.0)
    chain, length = longest_chain(after, own)
    assert length == nx.dag_longest_path_length(graph)
    assert sum(own[name] for name in chain) == length
    assert all(before in after[name] for before, name in itertools.pairwise(chain))


def test_without_lengths_steps_are_counted_and_nothing_has_no_chain():
    assert longest_chain({"a": [], "b": ["a"], "c": []}) == (("a", "b"), 2.0)
    assert longest_chain({}) == ((), 0.0)
    with pytest.raises(ValueError, match="a takes -1"):
        longest_chain({"a": []}, {"a": -1.0})


@given(waits())
def test_direct_is_the_transitive_reduction(after):
    wanted = set(nx.transitive_reduction(graph_of(after)).edges)
    found = {(before, name) for name, befores in direct(after).items() for before in befores}
    assert found == wanted
