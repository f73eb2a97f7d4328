"""Whether records that disagree with an index are told from records that agree with it."""

import numpy as np
import pytest
from player_notebook import shot_rows

from caddiebrain.insight.like_index import FAR, LikeIndex, like_index
from caddiebrain.player import Level, fit_player


def notes_of(level, each, rng):
    """Full shots with every club of a level's player."""
    return [row for p in level.player().patterns for row in shot_rows(p, each, rng)]


@pytest.mark.parametrize(("truth", "given"), [(4.0, 16.0), (24.0, 8.0)])
def test_an_index_far_from_the_shots_is_told(truth, given):
    """The shots are those of another level; the short game and the putting, without records, stay the given one's."""
    player = fit_player(notes_of(Level(truth), 60, np.random.default_rng(2)), Level(given))
    found = like_index(player)
    assert found is not None
    low, high = sorted((truth, given))
    assert low < found.index < high
    assert abs(found.index - given) > FAR - 1.0
    assert f"an index of about {found.index:.0f}; {given:g} was given" in found.sentence


@pytest.mark.parametrize(("index", "sex"), [(13.0, "men"), (28.0, "women")])
def test_an_index_near_the_shots_is_not_doubted(index, sex):
    level = Level(index, sex=sex)
    assert like_index(fit_player(notes_of(level, 15, np.random.default_rng(3)), level), sex) is None


def test_without_records_or_an_index_there_is_nothing_to_tell():
    """A level with a long driver would score better than its index; nobody wrote anything down."""
    long = Level(20.0, driver_carry_yd=270.0)
    fitted = fit_player([], long)
    assert like_index(fitted) is None
    assert like_index(long.player()) is None
    row = [{"club": "pw", "carry_yd": 105.0}]
    assert like_index(fit_player(row, long)) is not None
    assert like_index(fit_player(row, long).model_copy(update={"handicap_index": None})) is None


def test_the_question_fits_the_side_it_is_asked_from():
    assert LikeIndex(6.2, 13.0, False).sentence == (
        "these shots play like an index of about 6; 13 was given: were the bad ones written down, too?"
    )
    assert LikeIndex(-1.8, 5.4, True).sentence == (
        "these shots play like an index of about +2; the scores come to 5.4: were the bad ones written down, too?"
    )
    assert LikeIndex(20.0, 13.0, False).sentence.endswith("were the good ones written down, too?")
