"""What to hit off every tee of the demo course to score lowest, and to bring the round in at 79."""

import caddiebrain as cb

plan = cb.plan_round(cb.demo.course(), cb.demo.player(), target=79)

print(f"{plan.course.name}: expected score {plan.expected_score:.1f}, chance of 79 {plan.chance():.1%}")
for hole in plan.holes:
    best = hole.tee_choice
    print(f"{hole.number:2d}  par {hole.par}  {hole.length_yd:3.0f} yd  {best.label}, {best.aim_words}")
    for switch in hole.switches:
        if switch.option.club != best.club:
            start = "any better standing" if switch.from_standing is None else f"{switch.from_standing:+d}"
            stop = "any worse" if switch.to_standing is None else f"{switch.to_standing:+d}"
            print(f"      for the target: {switch.option.label} from {start} to {stop}")
