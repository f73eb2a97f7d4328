"""A plan as a file: what other programs read."""

from pydantic import BaseModel, ConfigDict, Field

__all__ = ["ChoiceRecord", "HoleOptionsRecord", "HoleRecord", "PlanRecord", "SwitchRecord"]


class _Record(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class ChoiceRecord(_Record):
    """One choice: club and aim, what it costs, where it ends."""

    label: str
    club: str
    shape: str
    height: str
    aim_words: str
    aim_deg: float
    aim_xy: tuple[float, float] = Field(description="yards: right of the line tee to pin, and toward the pin")
    carry_yd: float
    expected: float = Field(description="strokes to hole out, this one included")
    chance: float = Field(ge=0.0, le=1.0, description="of the round within the target")
    shares: dict[str, float]
    shots_on_record: float = Field(
        default=0.0, ge=0.0, description="behind the pattern; 0 for levels and derived shots"
    )
    sent_yd: float = Field(
        default=0.0, description="of a short shot: how far it would go on the level in still air; else 0"
    )
    started_yd: float = Field(
        default=0.0, description="of a short shot: right of its aim, where it lands; else 0"
    )
    allowance_words: str = Field(default="", description="what a short shot allows for of wind and slope")


class SwitchRecord(_Record):
    """A tee choice and the standings, strokes over par, at which it holds; null where there is no end."""

    from_standing: int | None
    to_standing: int | None
    choice: ChoiceRecord


class HoleRecord(_Record):
    """One hole of a plan."""

    number: int
    par: int
    length_yd: float
    stroke_index: int
    expected_score: float
    score_pmf: tuple[float, ...] = Field(description="chance of 0, 1, 2, ... strokes")
    double_bogey_or_worse: float
    tee_choice: ChoiceRecord
    switches: tuple[SwitchRecord, ...]


class HoleOptionsRecord(HoleRecord):
    """One hole of a plan, and the choices on its tee at one standing."""

    standing: int = Field(description="strokes over par before the hole")
    options: tuple[ChoiceRecord, ...] = Field(description="best first")


class PlanRecord(_Record):
    """A round's plan."""

    schema_version: int = Field(default=1, ge=1, le=1)
    course: str
    player: str
    par: int
    target: int
    expected_score: float
    chance: float
    chance_expected_policy: float
    score_pmf: dict[str, tuple[float, ...]] = Field(
        description='chance of each total from 0 strokes on, for the policies "expected" and "target"'
    )
    holes: tuple[HoleRecord, ...]
    few_shots: dict[str, float] = Field(
        default_factory=dict,
        description="recommended tee shots that hang on few recorded shots, and how many",
    )
