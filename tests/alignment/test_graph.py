"""The states a recording may pass through, and what straying costs."""

from __future__ import annotations

import pytest

from analyzer.alignment.graph import COST_HALT, COST_LOST_ROUND, COST_MISSING, END, START, build_graph
from analyzer.model.plan import Block, Move, Plan
from analyzer.plans import make_schedule


def plan_of(rounds: int = 2, side: str = "both", blocks: int = 1) -> Plan:
    moves = (
        Move("Squat", 40.0, rest_s=10.0),
        Move("Step up", 40.0, rest_s=10.0, side=side),  # type: ignore[arg-type]
        Move("Row", 40.0),
    )
    return Plan(
        "Test class",
        (
            Block("Hello", "talk", length_s=20.0),
            *(
                Block(f"Main {k}", "main", demo_s=30.0, rounds=rounds, rest_between_rounds_s=20.0, moves=moves)
                for k in range(blocks)
            ),
        ),
    )


def cost_between(plan: Plan, before: int, after: int) -> float:
    graph = build_graph(plan, make_schedule(plan))
    number = {n.planned: k for k, n in enumerate(graph.nodes) if n.copy == "plan"}
    source = START if before < 0 else number[before]
    target = END if after < 0 else number[after]
    return min(a.cost for a in graph.arcs if source in a.sources and target in a.targets)


def test_every_arc_points_forward() -> None:
    graph = build_graph(plan_of(side="each", blocks=3), make_schedule(plan_of(side="each", blocks=3)))
    assert all(max(a.sources) < min(a.targets) for a in graph.arcs if a.targets != (END,))
    assert {n.planned for n in graph.nodes if n.planned is not None} == set(range(24))


def test_the_planned_order_is_free() -> None:
    plan = plan_of()
    for k in range(5):
        assert cost_between(plan, k, k + 1) == 0.0
    assert cost_between(plan, -1, 0) == 0.0
    assert cost_between(plan, 5, -1) == 0.0


def test_a_lost_round_costs_less_than_its_moves_one_by_one() -> None:
    plan = plan_of()
    assert cost_between(plan, 0, 2) == pytest.approx(COST_MISSING)
    lost = cost_between(plan, 2, -1)
    assert lost == pytest.approx(COST_LOST_ROUND + 1.5)
    assert lost < 3 * COST_MISSING
    assert cost_between(plan, -1, 3) > lost  # of two like rounds the later one is the likelier loss


def test_both_side_orders_of_an_each_move_exist() -> None:
    plan = plan_of(side="each")
    graph = build_graph(plan, make_schedule(plan))
    orders = {
        (graph.nodes[source].side, graph.nodes[target].side)
        for a in graph.arcs
        for source in a.sources
        for target in a.targets
        if source >= 0 and target >= 0 and graph.nodes[target].second
    }
    assert orders == {("left", "right"), ("right", "left")}


def test_the_gap_of_a_demo_belongs_to_the_round_it_opens() -> None:
    plan = plan_of(blocks=2)
    graph = build_graph(plan, make_schedule(plan))
    number = {n.planned: k for k, n in enumerate(graph.nodes) if n.copy == "plan"}
    arc = next(a for a in graph.arcs if number[5] in a.sources and number[6] in a.targets)
    assert arc.talk
    assert arc.gap_s == pytest.approx(30.0)


@pytest.mark.parametrize(("before", "after", "loose"), [(2, 3, False), (2, 6, False), (1, 6, True), (2, 7, True)])
def test_where_whole_rounds_are_left_out_the_rest_between_rounds_is_expected(before, after, loose) -> None:
    plan = plan_of(rounds=3)
    graph = build_graph(plan, make_schedule(plan))
    number = {n.planned: k for k, n in enumerate(graph.nodes) if n.copy == "plan"}
    arc = next(a for a in graph.arcs if number[before] in a.sources and number[after] in a.targets)
    assert arc.loose == loose
    assert loose or arc.gap_s == 20.0


def test_a_halt_stands_beside_its_interval_and_only_where_a_break_gives_way() -> None:
    plan = plan_of(rounds=1)
    graph = build_graph(plan, make_schedule(plan))
    halted, was = graph.with_halts({0: 50.0, 2: 150.0})
    twins = [k for k, node in enumerate(halted.nodes) if node.due_s is not None]
    assert {halted.nodes[k].planned for k in twins} == {0}  # nothing rests after the last
    assert [graph.nodes[k].planned for k in was] == [node.planned for node in halted.nodes]
    assert {halted.nodes[k].due_s for k in twins} == {90.0}
    assert all(max(a.sources) < min(a.targets) for a in halted.arcs if a.targets != (END,))
    leaving = [a for a in halted.arcs if set(a.sources) & set(twins)]
    assert {k for a in leaving for k in a.sources} == set(twins)
    own = {a for a in halted.arcs if a not in leaving}
    twin_free = [(a.cost, a.gap_s) for a in own if a.sources != (START,)]
    assert all((a.cost - COST_HALT, a.gap_s) in twin_free for a in leaving)
