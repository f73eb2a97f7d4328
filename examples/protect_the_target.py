"""Late in a round: how the choice on the closing holes changes with the score.

Standing is strokes over par of the holes played. The plan knows the best choice for every one of them.
"""

import caddiebrain as cb

plan = cb.plan_round(cb.demo.course(), cb.demo.player(), target=79)

for number in (14, 15, 17, 18):
    hole = plan.hole(number)
    print(f"Hole {number}, par {hole.par}, {hole.length_yd:.0f} yards")
    for standing in range(2, 11):
        options = hole.tee_options(standing)
        best = options[0]
        other = next((o for o in options if o.club != best.club), best)
        print(
            f"  {standing:+d}: {best.label:10s} {best.chance:6.1%} to make {plan.target}, "
            f"{best.expected:.2f} strokes; {other.label} {other.chance:.1%}, {other.expected:.2f}"
        )
