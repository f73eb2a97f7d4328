"""The engine without golf: which way to the ferry is soonest on average, and which is surest to be in time."""

import numpy as np

import caddiebrain as cb

ROADS: dict[str, dict[str, list[tuple[str, float, int]]]] = {  # next place, its chance, quarters of an hour
    "home": {
        "motorway": [("bridge", 0.7, 2), ("jam", 0.3, 3)],
        "coast road": [("bridge", 1.0, 5)],
    },
    "jam": {
        "sit it out": [("bridge", 0.5, 2), ("jam", 0.5, 2)],
        "turn off": [("coast", 1.0, 1)],
    },
    "coast": {"drive on": [("bridge", 1.0, 4)]},
    "bridge": {"cross": [("quay", 0.9, 1), ("bridge", 0.1, 2)]},  # opened for a ship: wait and try again
}


def main() -> None:
    """Say what to do for the shortest drive, and by quarters of an hour left for the best chance."""
    graph = cb.StateGraph.from_choices(ROADS, goal="quay")
    home, jam = graph.index("home"), graph.index("jam")
    soonest = cb.solve.fewest_strokes(graph)
    print(
        f"soonest: {graph.choice_label(soonest.choice[home])}, {15 * soonest.value[home]:.0f} minutes on average"
    )
    in_time = cb.solve.within_budget(graph, budget=8)
    for left in (8, 7, 6, 5, 4):
        way = graph.choice_label(in_time.choice[left, home])
        print(f"{15 * left} minutes left: {way}, in time {in_time.value[left, home]:.0%}")
    for left in (6, 5):
        print(f"in the jam with {15 * left}: {graph.choice_label(in_time.choice[left, jam])}")
    played = cb.solve.simulate(graph, in_time.choice, "home", 10_000, np.random.default_rng(1))
    print(f"played 10,000 times: in time {(played <= 8).mean():.0%}")


if __name__ == "__main__":
    main()
