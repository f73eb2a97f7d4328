"""The weather of the day, as a forecast gives it."""

from typing import Any, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray
from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from caddiebrain.errors import InputError, field_faults, misfit
from caddiebrain.flight.air import REFERENCE_DENSITY, SEA_LEVEL_HPA, air_density

__all__ = ["Conditions"]


class Conditions(BaseModel):
    """Wind and air of the day. The defaults are the reference: there every stock shot flies its own carry.

    The wind is the forecast's: the mean over open ground at 10 m, 1.3 times what is felt at head height.
    ``gust_mph`` is the standard deviation of the wind from shot to shot, not the peak a forecast prints; a
    third of (peak minus mean) is a fair reading (common practice, no source). ``wind_uncertainty_mph`` is the
    standard deviation of the error in knowing the mean wind, in each of the two horizontal directions.

    Raises
    ------
    InputError
        With every field that is wrong.
    """

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        allow_inf_nan=False,
        json_schema_extra={
            "if": {"required": ["wind_mph"], "properties": {"wind_mph": {"exclusiveMinimum": 0}}},
            "then": {"required": ["wind_from_deg"]},
        },
    )

    wind_mph: float = Field(default=0.0, ge=0.0, le=50.0, description="mean wind at 10 m, mph")
    wind_from_deg: float = Field(
        default=0.0,
        ge=0.0,
        le=360.0,
        description="compass bearing the wind comes from, degrees; a wind needs it",
    )
    gust_mph: float = Field(default=0.0, ge=0.0, le=20.0, description="standard deviation shot to shot, mph")
    wind_uncertainty_mph: float = Field(
        default=0.0, ge=0.0, le=20.0, description="standard deviation of the wind estimate, mph"
    )
    temperature_c: float = Field(default=20.0, ge=-15.0, le=50.0, description="air temperature, Celsius")
    altitude_m: float = Field(default=0.0, ge=-450.0, le=5000.0, description="metres above sea level")
    humidity: float = Field(default=0.5, ge=0.0, le=1.0, description="relative humidity, 0 to 1")
    sea_level_hpa: float = Field(
        default=SEA_LEVEL_HPA, ge=900.0, le=1085.0, description="pressure reduced to sea level, hPa"
    )

    @model_validator(mode="after")
    def _wind_from_somewhere(self) -> Self:
        if self.wind_mph > 0.0 and "wind_from_deg" not in self.model_fields_set:
            raise misfit(
                "wind_from_deg", "nothing", "degrees from north: a wind needs the direction it comes from"
            )
        return self

    def __new__(cls, **given: Any) -> Self:
        """Refuse what will not do in our own words; inside another model or a file pydantic's own stand."""
        try:
            if given:  # none when pydantic itself makes the object
                cls.model_validate(given)
        except ValidationError as error:
            raise InputError("conditions", field_faults(error.errors(), cls.model_fields)) from None
        return super().__new__(cls)

    @property
    def density(self) -> float:
        """Air density in kg/m3."""
        return float(air_density(self.temperature_c, self.altitude_m, self.humidity, self.sea_level_hpa))

    @property
    def still(self) -> bool:
        """Whether there is no wind, no gust and no doubt about it."""
        return self.wind_mph == self.gust_mph == self.wind_uncertainty_mph == 0.0

    @property
    def reference(self) -> bool:
        """Whether stock shots fly exactly as given: still air of the reference density."""
        return self.still and self.density == REFERENCE_DENSITY

    def wind_toward_deg(self, bearing_deg: ArrayLike) -> NDArray[np.float64]:
        """Angle the wind blows toward relative to a line of play.

        Parameters
        ----------
        bearing_deg : array_like
            Compass bearing of the shot, degrees clockwise from north.

        Returns
        -------
        ndarray
            Degrees clockwise from the line, 0 to 360: 0 tail wind, 90 blowing to the right, 180 head wind.
        """
        return np.asarray((self.wind_from_deg + 180.0 - np.asarray(bearing_deg, dtype=float)) % 360.0)
