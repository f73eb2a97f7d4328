"""Work shared out is done once, whoever does it."""

import numpy as np
import pytest

from caddiebrain.solve.threads import threads


@pytest.mark.parametrize("count", [1, 2, 5])
def test_threads_do_all_of_it_once_and_say_what_went_wrong(count):
    done = np.zeros(30, dtype=int)

    def work(low: int, high: int) -> None:
        done[low:high] += 1
        if low <= 17 < high:
            raise ValueError("seventeen")

    with threads(count) as team:
        for sizes in (np.ones(30, int), np.arange(30) ** 3 + 1, np.r_[np.ones(29, int), 1000]):
            stops = np.concatenate(([0], np.cumsum(sizes)))
            done[:] = 0
            with pytest.raises(ValueError, match="seventeen"):
                team.run(work, team.shares(stops))
            assert count > 1 or done[:17].all()
            done[:] = 0
            team.run(lambda low, high: np.add.at(done, np.arange(low, high), 1), team.shares(stops))
            np.testing.assert_array_equal(done, np.ones(30))
