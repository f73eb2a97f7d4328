import numpy as np
import pytest
from pydantic import ValidationError

from caddiebrain.errors import InputError
from caddiebrain.faults import fault_lines
from caddiebrain.flight import Conditions, air_density, pressure_at, wind_profile
from caddiebrain.flight.air import REFERENCE_DENSITY, saturation_pressure


@pytest.mark.parametrize(
    ("altitude_m", "temperature_c", "pressure_hpa", "density"),
    [  # U.S. Standard Atmosphere 1976 / ISO 2533, dry air by geopotential height (from memory)
        (0, 15.0, 1013.25, 1.2250),
        (1000, 8.5, 898.75, 1.1116),
        (2000, 2.0, 794.95, 1.0065),
        (3000, -4.5, 701.08, 0.9091),
    ],
)
def test_the_standard_atmosphere_is_reproduced(altitude_m, temperature_c, pressure_hpa, density):
    assert pressure_at(altitude_m) == pytest.approx(pressure_hpa, rel=5e-5)
    assert air_density(temperature_c, altitude_m, 0.0) == pytest.approx(density, abs=1.5e-4)


@pytest.mark.parametrize(
    ("temperature_c", "hpa"),
    [(0.01, 6.117), (10, 12.28), (20, 23.39), (30, 42.47)],  # steam tables (from memory)
)
def test_water_vapour_saturates_as_in_steam_tables(temperature_c, hpa):
    assert saturation_pressure(temperature_c) == pytest.approx(hpa, rel=2e-3)


def test_moist_air_as_in_metrology():
    # CIPM-2007 formula for 20 C, 101,325 Pa, 50 % humidity: 1.1992 kg/m3 (from memory).
    assert pytest.approx(1.1992, abs=5e-4) == REFERENCE_DENSITY


def test_humid_warm_and_high_air_is_thinner():
    humidity = air_density(25.0, 0.0, np.linspace(0.0, 1.0, 5))
    warmth = air_density(np.linspace(-10.0, 45.0, 9))
    height = air_density(20.0, np.linspace(0.0, 3000.0, 9))
    assert all(np.all(np.diff(density) < 0.0) for density in (humidity, warmth, height))


def test_wind_near_the_ground_as_for_weather_stations():
    # Allen et al. (1998), FAO Irrigation and Drainage Paper 56, equation 47: u(2 m) = 0.748 u(10 m).
    assert wind_profile(10.0) == pytest.approx(1.0)
    assert wind_profile(2.0) == pytest.approx(0.748, abs=0.01)
    assert wind_profile(-1.0) == wind_profile(0.0)
    assert np.all(np.diff(wind_profile(np.arange(0.0, 40.0))) > 0.0)


def test_reference_conditions_are_the_defaults():
    assert Conditions().reference
    assert Conditions().density == REFERENCE_DENSITY
    assert not Conditions(gust_mph=1.0).reference
    assert not Conditions(temperature_c=21.0).reference


@pytest.mark.parametrize(
    "wrong",
    [
        {"wind_mph": -1.0},
        {"wind_mph": float("nan")},
        {"wind_from_deg": 361.0},
        {"humidity": 1.2},
        {"temperature_c": 90.0},
        {"altitude_m": 9000.0},
        {"wind": 3.0},
    ],
)
def test_impossible_weather_is_refused(wrong):
    with pytest.raises(InputError, match=f"conditions: {next(iter(wrong))}: found .*; expected"):
        Conditions(**wrong)


def test_a_wind_comes_from_somewhere():
    with pytest.raises(InputError) as caught:
        Conditions(wind_mph=10, humidity=0.4)
    line = (
        "wind_from_deg: found nothing; expected degrees from north: a wind needs the direction it comes from"
    )
    assert str(caught.value) == f"conditions: {line}"
    with pytest.raises(ValidationError) as refused:
        Conditions.model_validate_json('{"wind_mph": 10}')
    assert fault_lines(refused.value) == [line]
    assert Conditions(wind_mph=0).still
    north = Conditions(wind_mph=10, wind_from_deg=0)
    assert Conditions.model_validate_json(north.model_dump_json()) == north


def test_the_wind_angle_is_clockwise_from_the_line():
    west_wind = Conditions(wind_mph=5, wind_from_deg=270)
    toward = west_wind.wind_toward_deg([90.0, 270.0, 0.0, 180.0])
    assert toward.tolist() == [0.0, 180.0, 90.0, 270.0]
