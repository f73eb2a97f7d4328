"""Hardy's golfer and a hole enumerated by hand, through every door and every solver.

Sources: Hardy G.H. (1945), Mathematical Gazette 29:226-227; van der Ven A. (2012), Mathematical Gazette 96, for the
polynomials and the law P(T_m <= n) = P(S_n >= m).
"""

from fractions import Fraction
from math import factorial

import numpy as np
import pytest
from graph_zoo import TEXTBOOK, as_graph, hardy, small_hole
from solve_reference import exact_budget, exact_expected

from caddiebrain import solve
from caddiebrain.graph import StateGraph, read_graph, write_graph

EXACT_FIVE = {
    2: Fraction(1, 100),
    3: Fraction(21, 100),
    4: Fraction(1047, 2000),
    5: Fraction(4921, 25000),
    6: Fraction(9633, 200000),
}
"""P(T_4 = n) for p = q = 1/10, from the published law."""


def by_arrays(graph, tmp_path):
    names = ("choice_start", "outcome_start", "outcome_state", "outcome_prob", "outcome_strokes")
    labels = {"state_labels": graph.state_labels, "choice_labels": graph.choice_labels}
    return StateGraph.from_arrays(*(getattr(graph, n) for n in names), goal=graph.goal, **labels)


def by_file(suffix):
    def door(graph, tmp_path):
        write_graph(graph, tmp_path / f"g{suffix}")
        return read_graph(tmp_path / f"g{suffix}")

    return door


DOORS = {
    "choices": lambda graph, tmp_path: graph,
    "arrays": by_arrays,
    "json": by_file(".json"),
    "npz": by_file(".npz"),
}


@pytest.fixture(params=[(name, door) for name in TEXTBOOK for door in DOORS], ids=" by ".join)
def problem(request, tmp_path):
    name, door = request.param
    return TEXTBOOK[name], DOORS[door](as_graph(TEXTBOOK[name]), tmp_path)


def law(par: int, good: Fraction, bad: Fraction, strokes: int) -> Fraction:
    """P(T_m <= n) = P(S_n >= m): S_n sums n steps of 2, 1 and 0."""
    total = Fraction(0)
    for a in range(strokes + 1):
        for b in range(strokes + 1 - a):
            c = strokes - a - b  # a good, b bad, c ordinary
            if 2 * a + c >= par:
                ways = factorial(strokes) // (factorial(a) * factorial(b) * factorial(c))
                total += ways * good**a * bad**b * (1 - good - bad) ** c
    return total


@pytest.mark.parametrize("x", [Fraction(1, 10), Fraction(1, 20), Fraction(3, 25), Fraction(1, 4)])
def test_hardy_polynomials_against_a_player_who_always_makes_four(x):
    graph = as_graph(hardy(4, x, x))
    pmf = solve.score_pmf(graph, solve.fewest_strokes(graph).choice, 4)
    assert pmf.chance(3) == pytest.approx(float(3 * x - 9 * x**2 + 10 * x**3), abs=1e-12)
    loses = 4 * x - 18 * x**2 + 40 * x**3 - 35 * x**4
    assert 1.0 - pmf.chance(4) == pytest.approx(float(loses), abs=1e-12)
    assert 1.0 - solve.within_budget(graph, 4).value[4, graph.index(4)] == pytest.approx(
        float(loses), abs=1e-12
    )


def test_hardy_exact_fractions():
    graph = as_graph(hardy(4, Fraction(1, 10), Fraction(1, 10)))
    pmf = solve.score_pmf(graph, solve.fewest_strokes(graph).choice, 4)
    chance = solve.within_budget(graph, 6).value[:, graph.index(4)]
    for n, share in EXACT_FIVE.items():
        assert pmf[n] == pytest.approx(float(share), abs=1e-12)
        assert chance[n] - chance[n - 1] == pytest.approx(float(share), abs=1e-12)
        assert (
            law(4, Fraction(1, 10), Fraction(1, 10), n) - law(4, Fraction(1, 10), Fraction(1, 10), n - 1)
            == share
        )


def test_eighteen_holes_are_the_convolution():
    good, bad, most = Fraction(1, 10), Fraction(1, 10), 110
    rounds = {}
    for hole in range(18, 0, -1):
        for left, choices in hardy(4, good, bad).items():
            after = (hole + 1, 4) if hole < 18 else "cup"
            rounds[hole, left] = {
                c: [(after if t == "cup" else (hole, t), p, k) for t, p, k in row]
                for c, row in choices.items()
            }
    graph = as_graph(rounds)
    pmf = solve.score_pmf(graph, solve.fewest_strokes(graph).choice, (1, 4), strokes=most)
    chance = solve.within_budget(graph, most).value[:, graph.index((1, 4))]
    one = [float(law(4, good, bad, n) - (law(4, good, bad, n - 1) if n else 0)) for n in range(60)]
    total = np.ones(1)
    for _ in range(18):
        total = np.convolve(total, one)
    np.testing.assert_allclose(pmf.pmf, total[: most + 1], atol=1e-12, rtol=0)
    np.testing.assert_allclose(chance, np.cumsum(total)[: most + 1], atol=1e-12, rtol=0)
    assert pmf.beyond == pytest.approx(1.0 - total[: most + 1].sum(), abs=1e-12)


def test_the_small_hole_by_hand():
    """Worked with pencil: green 7/4 (lag), tap 1, short 1 + 4/5 * 7/4 = 12/5, rough 2 (1 + 6/5) = 22/5,
    path 1/2 * 12/5 + 1/2 * 22/5 = 17/5 (drop; playing it costs 17/4), fairway 1 + 3/4 * 7/4 + 1/4 * 17/5 = 253/80,
    tee 333/80 with the iron (the driver costs 93/20)."""
    hand = {
        "green": Fraction(7, 4),
        "tap": Fraction(1),
        "short": Fraction(12, 5),
        "rough": Fraction(22, 5),
        "path": Fraction(17, 5),
    }
    hand |= {"fairway": Fraction(253, 80), "tee": Fraction(333, 80)}
    assert exact_expected(small_hole()) == hand
    graph = as_graph(small_hole())
    found = solve.fewest_strokes(graph)
    names = {s: graph.choice_label(found.choice[graph.index(s)]) for s in graph.states}
    assert (names["tee"], names["green"], names["path"], names["cup"]) == ("iron", "lag", "drop", None)
    values = solve.choice_values(graph, found.value)
    assert values[graph.choices_of("tee")[0]] == pytest.approx(
        float(
            Fraction(1, 2) * (1 + Fraction(12, 5))
            + Fraction(3, 10) * Fraction(27, 5)
            + Fraction(1, 5) * (2 + Fraction(333, 80))
        ),
        abs=1e-12,
    )
    # From the short grass in two strokes: the chip in 1/5, or onto the green 4/5 and the charged putt 2/5.
    assert exact_budget(small_hole(), 2)["short"][:3] == [
        0,
        Fraction(1, 5),
        Fraction(1, 5) + Fraction(4, 5) * Fraction(2, 5),
    ]


def test_expected_strokes_through_every_door(problem):
    exact, graph = problem
    want = exact_expected(exact)
    want["cup"] = Fraction(0)
    truth = np.array([float(want[s]) for s in graph.states])
    found = solve.fewest_strokes(graph)
    assert found.status == solve.Status.PROVEN
    np.testing.assert_allclose(found.value, truth, atol=1e-12, rtol=0)
    assert np.all(found.lower <= truth + 1e-15)
    assert np.all(truth <= found.upper + 1e-15)
    assert found.gap <= 1e-9
    assert (found.choice == -1).tolist() == [s == "cup" for s in graph.states]
    np.testing.assert_allclose(solve.evaluate(graph, found.choice), truth, atol=1e-12, rtol=0)
    program = solve.linear_program(graph)
    assert program.status == solve.Status.PROVEN
    np.testing.assert_allclose(program.value, truth, atol=1e-9, rtol=0)


def test_budgets_through_every_door(problem):
    exact, graph = problem
    reward = tuple(Fraction(i % 3, 4) + Fraction(1, 8) for i in range(9))  # rises and falls
    for prune in (True, False):
        for paid, given in ((None, None), (reward, [float(r) for r in reward])):
            want = exact_budget(exact, 8, paid)
            found = solve.within_budget(graph, 8, finish=given, prune=prune)
            for s, row in want.items():
                column = found.value[:, graph.index(s)]
                np.testing.assert_allclose(column, [float(v) for v in row], atol=1e-12, rtol=0)


def test_simulation_through_every_door(problem):
    exact, graph = problem
    start = next(iter(exact))
    found = solve.fewest_strokes(graph)
    taken = solve.simulate(graph, found.choice, start, 40_000, np.random.default_rng(20))
    error = taken.std() / np.sqrt(len(taken))
    assert abs(taken.mean() - found.value[graph.index(start)]) < 4 * error
    pmf = solve.score_pmf(graph, found.choice, start)
    assert pmf.mean == pytest.approx(found.value[graph.index(start)], abs=1e-9)
    shares = np.bincount(taken, minlength=len(pmf))[: len(pmf)] / len(taken)
    np.testing.assert_allclose(shares, pmf.pmf, atol=4 * 0.5 / np.sqrt(len(taken)), rtol=0)
