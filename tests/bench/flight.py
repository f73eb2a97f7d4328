"""How long the day's flights of a bag take: ``python tests/bench/flight.py``."""

import time

import numpy as np

from caddiebrain.flight import Conditions, flight_table

DAY = Conditions(wind_mph=12, wind_from_deg=240, gust_mph=3, wind_uncertainty_mph=2, temperature_c=10)


def main() -> None:
    """Time cold (launches unknown) and warm tables, with gusts and doubt on."""
    flight_table(150.0, 25.0, 45.0, 0.0, DAY)  # the aerodynamic table is read once a process
    for shots in (15, 40, 80):
        carry = np.linspace(60.0, 260.0, shots)
        bag = (
            carry,
            np.minimum(0.16 * carry + 5.0, 28.0),
            np.full(shots, 44.0),
            np.linspace(-10.0, 10.0, shots),
        )
        for what in ("cold", "warm"):
            start = time.perf_counter()
            flight_table(*bag, DAY)
            print(f"{shots:3d} shots, {what}: {1000.0 * (time.perf_counter() - start):6.1f} ms")


if __name__ == "__main__":
    main()
