"""Pictures hold the data they stand for: measured on the artists, and once on the pixels."""

import subprocess
import sys

import matplotlib as mpl
import numpy as np
import pytest
import shapely

import caddiebrain as cb
from caddiebrain import plots
from caddiebrain.errors import InputError
from caddiebrain.insight.disasters import DisasterFrontier, FrontierPoint
from caddiebrain.insight.practice import PracticeReport, Priority

mpl.use("Agg")

from matplotlib import pyplot
from matplotlib.figure import Figure
from matplotlib.patches import Ellipse, PathPatch


@pytest.fixture(autouse=True)
def closed_figures():
    yield
    pyplot.close("all")


@pytest.fixture
def ax():
    return Figure().add_subplot()


def lines(ax, label):
    return [np.column_stack(line.get_data()) for line in ax.lines if line.get_label() == label]


def pieces(ax, lie):
    return [p for p in ax.patches if isinstance(p, PathPatch) and p.get_label() == f"_{lie}"]


def words(ax):
    return [text.get_text() for text in ax.texts]


# -- the ground -----------------------------------------------------------------------------------------------


def test_the_ground_is_true_to_scale(three_plan):
    hole = three_plan.hole(1).hole
    ax = plots.ground(hole)
    ax.figure.canvas.draw()
    (left, bottom), (right, top) = ax.transData.transform([hole.tee, (hole.tee[0] + 50, hole.tee[1] + 50)])
    assert right - left == pytest.approx(top - bottom, rel=1e-6)
    (line,) = lines(ax, "_line of play")
    assert np.hypot(*np.diff(line, axis=0).T).sum() == pytest.approx(hole.length_yd)
    assert ax.get_xlim()[0] <= hole.tee[0] <= ax.get_xlim()[1]
    assert ax.get_ylim()[0] <= 0 < hole.pin[1] <= ax.get_ylim()[1]


def test_every_kind_of_ground_is_drawn_where_the_map_has_it(three_plan):
    hole = three_plan.hole(1).hole
    ax = plots.ground(hole)
    for lie in ("green", "sand", "yellow"):
        drawn = pieces(ax, lie)
        mapped = [area.shape for area in hole.areas if area.lie == lie]
        assert len(drawn) == len(mapped)
        extents = sorted(tuple(np.round(p.get_path().get_extents().extents, 1)) for p in drawn)
        assert extents == sorted(tuple(np.round(shape.bounds, 1)) for shape in mapped)
        assert len({p.get_facecolor() for p in drawn}) == 1
    assert "yellow" in words(ax)
    fairway, pond = (next(a.shape for a in hole.areas if a.lie == lie) for lie in ("fairway", "yellow"))
    drawn = [shapely.Polygon(p.get_path().to_polygons()[0]) for p in pieces(ax, "fairway")]
    assert len(drawn) == 2  # short of the pond, and beyond it
    assert shapely.union_all(drawn).area == pytest.approx(fairway.difference(pond).area, rel=1e-3)


def test_rings_are_where_they_say(three_plan):
    hole = three_plan.hole(1).hole
    ax = plots.ground(hole)
    for distance in (50, 150):
        for run in lines(ax, f"_{distance}"):
            np.testing.assert_allclose(np.hypot(*(run - hole.pin).T), distance, atol=0.2)
        assert f"{distance} " in words(ax)
    assert not lines(plots.ground(hole, rings=False), "_50")


def test_a_frame_shows_a_part_and_the_ground_fills_it(three_plan):
    hole = three_plan.hole(3).hole
    ax = plots.ground(hole, frame=(-20.0, 150.0, 200.0, 300.0))
    assert (*ax.get_xlim(), *ax.get_ylim()) == (-20.0, 150.0, 200.0, 300.0)
    (out,) = pieces(ax, "out")
    mapped = next(area.shape for area in hole.areas if area.lie == "out")
    assert out.get_path().get_extents().x1 == pytest.approx(mapped.bounds[2])  # not cut at the usual margin


def test_kinds_of_ground_stay_apart_without_colour():
    from caddiebrain.plots.look import GROUND, MARKS

    looks = {(tone.fill, tone.texture, str(tone.dashes), tone.edge, tone.width) for tone in GROUND.values()}
    assert len(looks) == len(GROUND)
    assert MARKS[0].marker != MARKS[1].marker
    assert MARKS[0].filled != MARKS[1].filled


# -- shots ----------------------------------------------------------------------------------------------------


def test_a_planned_hole_draws_its_tee_choice(three_plan):
    one = three_plan.hole(1)
    ax = one.draw()
    choice = one.tee_choice
    (aimed,) = lines(ax, "_aimed")
    np.testing.assert_allclose(aimed, [one.hole.tee, choice.aim_xy])
    assert np.hypot(*np.diff(aimed, axis=0)[0]) == pytest.approx(choice.aim.distance_yd)
    (balls,) = ax.collections
    assert balls.get_label() == choice.label
    spots = balls.get_offsets()
    assert len(spots) == 89
    along = np.median(np.hypot(*(np.asarray(spots) - one.hole.tee).T))
    assert along == pytest.approx(choice.carry_yd, rel=0.05)
    title = ax.get_title(loc="left")
    assert choice.aim_words in title
    assert f"{choice.expected:.2f} on average" in title


def test_the_ellipse_holds_two_thirds_of_the_solid_balls(three_plan):
    ax = three_plan.hole(1).draw()
    (ellipse,) = [p for p in ax.patches if isinstance(p, Ellipse)]
    unit = ellipse.get_patch_transform().inverted().transform(ax.collections[0].get_offsets())
    inside = (np.hypot(*unit.T) <= 1.0).mean()
    assert 0.55 < inside < 0.75


def test_a_standing_draws_the_choice_that_serves_the_target_there(three_plan):
    one = three_plan.hole(3)
    for standing in (-2, 2):
        best = one.tee_options(standing)[0]
        ax = one.draw(standing=standing)
        assert ax.collections[0].get_label() == best.label
        assert f"{best.chance:.1%} to make the target" in ax.get_title(loc="left")


def test_keyword_arguments_reach_the_balls_and_an_axes_is_used(three_plan, ax):
    assert three_plan.hole(2).draw(ax=ax, s=40, alpha=0.5) is ax
    (balls,) = ax.collections
    assert (balls.get_sizes()[0], balls.get_alpha()) == (40, 0.5)


def test_dispersion_draws_both_choices_at_their_real_size(three_plan):
    found = cb.compare(three_plan, hole=3, first="driver", second="4-hybrid")
    ax = plots.dispersion(three_plan, found)
    first, second = ax.collections
    np.testing.assert_array_equal(first.get_offsets(), found.first.points)
    np.testing.assert_array_equal(second.get_offsets(), found.second.points)
    assert first.get_paths()[0].vertices.shape != second.get_paths()[0].vertices.shape
    for ellipse, side in zip(
        [p for p in ax.patches if isinstance(p, Ellipse)], (found.first, found.second), strict=True
    ):
        assert ellipse.height == pytest.approx(2 * side.ellipse.long_yd)
        assert ellipse.width == pytest.approx(2 * side.ellipse.short_yd)
        assert ellipse.center == pytest.approx(side.ellipse.centre)
        spread = ellipse.get_patch_transform().transform([(0.0, 1.0)])[0] - side.ellipse.centre
        turn = np.rad2deg(np.arctan2(*spread))
        assert (turn - side.ellipse.turn_deg + 90) % 180 == pytest.approx(90, abs=1e-6)
    box = shapely.box(*(np.ravel([ax.get_xlim(), ax.get_ylim()], "F")))
    assert all(box.covers(shapely.Point(p)) for side in (found.first, found.second) for p in side.points)
    assert [t.get_text() for t in ax.get_legend().get_texts()] == [
        f"{side.label}: {side.expected:.2f} strokes" for side in (found.first, found.second)
    ]


# -- scores ---------------------------------------------------------------------------------------------------


def test_scores_are_the_plan_s(three_plan):
    ax = plots.scores(three_plan)
    bars = {round(b.get_x() + b.get_width() / 2): b for b in ax.containers[0]}
    assert sum(b.get_height() for b in bars.values()) == pytest.approx(1.0, abs=1e-9)
    within = sum(b.get_height() for total, b in bars.items() if total <= three_plan.target)
    assert within == pytest.approx(three_plan.chance(), abs=1e-6)
    inks = {total <= three_plan.target: b.get_facecolor() for total, b in bars.items()}
    assert inks[True] != inks[False]
    assert {b.get_facecolor() for t, b in bars.items() if t <= three_plan.target} == {inks[True]}
    (average,) = [p for p in ax.patches if p.get_label() == "playing for the lowest average"]
    np.testing.assert_array_equal(average.get_data().values, three_plan.score_pmf("expected"))
    assert f"{three_plan.chance():.1%}" in words(ax)[0]
    (mean,) = lines(ax, "_mean")
    assert mean[0, 0] == pytest.approx(three_plan.expected_score)


def test_hole_scores_are_the_hole_s(three_plan):
    one = three_plan.hole(2)
    ax = plots.hole_scores(one)
    heights = [b.get_height() for b in ax.containers[0]]
    np.testing.assert_array_equal(heights, one.score_pmf)
    assert sum(heights) == pytest.approx(1.0, abs=1e-9)
    hatched = sum(b.get_height() for b in ax.containers[0] if b.get_hatch())
    assert hatched == pytest.approx(one.double_bogey_or_worse)


# -- trades ---------------------------------------------------------------------------------------------------


def test_the_frontier_draws_its_points_and_names_each_tee_choice_once():
    told = ((5.0, 0.25, "driver"), (5.02, 0.2, "3-wood"), (5.1, 0.19, "3-wood"))
    points = tuple(FrontierPoint(expected=e, double_bogey_or_worse=c, tee_choice=t) for e, c, t in told)
    ax = plots.frontier(DisasterFrontier(hole=5, par=4, points=points, gap=0.0), lw=3)
    (curve,) = ax.lines
    np.testing.assert_array_equal(np.column_stack(curve.get_data()), [(c, e) for e, c, _ in told])
    assert words(ax) == ["driver", "3-wood"]
    assert curve.get_linewidth() == 3


@pytest.fixture
def report():
    told = (("lag putting", 0.01, -0.2), ("driver", 0.03, -0.1), ("bunker play", 0.0, 0.0))
    priorities = tuple(
        Priority(
            skill=skill, improvement=0.1, improvement_words="", strokes=strokes, chance=chance,
            strokes_slope=10 * strokes, chance_slope=10 * chance, words="",
        )
        for skill, chance, strokes in told
    )  # fmt: skip
    return PracticeReport(target=79, chance=0.1, expected_score=83.0, priorities=priorities)


@pytest.mark.parametrize(
    ("by", "order", "longest"),
    [
        ("chance", ["driver", "lag putting", "bunker play"], 3.0),
        ("strokes", ["lag putting", "driver", "bunker play"], 0.2),
    ],
)
def test_practice_ranks_skills_by_what_they_bring(report, by, order, longest):
    ax = plots.practice(report, by=by)
    assert [label.get_text() for label in ax.get_yticklabels()] == order
    assert ax.containers[0][0].get_width() == pytest.approx(longest)
    assert ax.yaxis_inverted()
    assert not any("-" in text for text in words(ax))


def test_practice_asked_for_something_else(report):
    with pytest.raises(InputError, match="by"):
        plots.practice(report, by="points")


# -- manners --------------------------------------------------------------------------------------------------


def test_pictures_leave_matplotlib_as_it_was(three_plan, ax):
    before, backend = dict(mpl.rcParams), mpl.get_backend()
    three_plan.hole(1).draw(ax=ax)
    plots.scores(three_plan, ax=Figure().add_subplot())
    assert dict(mpl.rcParams) == before
    assert mpl.get_backend() == backend
    assert pyplot.get_fignums() == []  # given axes, no figure of ours


def test_a_picture_can_be_saved_and_shows_ink(three_plan, tmp_path):
    path = tmp_path / "hole.png"
    three_plan.hole(1).draw().figure.savefig(path)
    pixels = pyplot.imread(path)[..., :3]
    assert pixels.min() < 0.2
    assert len(np.unique(np.round(pixels.reshape(-1, 3), 1), axis=0)) > 20


def test_without_matplotlib_one_line_names_the_extra():
    code = (
        "import sys; sys.modules['matplotlib'] = None; import caddiebrain as cb; "
        "hole = cb.demo.course().holes[0]\ntry: cb.plots.ground(hole)\nexcept ImportError as error: print(error)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "pictures need matplotlib: pip install 'caddiebrain[plots]'\n"


def test_opening_the_package_and_its_plots_does_not_open_matplotlib():
    code = "import sys, caddiebrain as cb; cb.plots.hole; print('matplotlib' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "False\n"
