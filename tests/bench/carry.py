"""How long a card takes and what it costs, by the number of rules: ``python tests/bench/carry.py``."""

import time

import caddiebrain as cb


def main() -> None:
    """Plan the demo, then make three cards and price the last one again."""
    start = time.perf_counter()
    plan = cb.plan_round(cb.demo.course(), cb.demo.player(), target=79)
    print(f"plan {time.perf_counter() - start:.1f} s")
    for rules in (0, 4, 12):
        start, used = time.perf_counter(), time.process_time()
        card = cb.carry_card(plan, rules=rules)
        wall, used = time.perf_counter() - start, time.process_time() - used
        print(
            f"{len(card.rules):>2} rules: {wall:.1f} s, processor {used:.1f} s; "
            f"{card.cost_strokes:.2f} strokes dearer, {card.chance:.1%} for {card.plan_chance:.1%}"
        )
    start = time.perf_counter()
    cb.price_card(plan, card)
    print(f"priced again {time.perf_counter() - start:.1f} s")


if __name__ == "__main__":
    main()
