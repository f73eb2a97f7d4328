"""What a reader finds wrong and what it assumes, gathered while it reads."""

from dataclasses import dataclass, field

from caddiebrain.errors import CourseError, Fault

__all__ = ["Findings"]

FAULTS_MOST = 500
NOTES_MOST = 2000


@dataclass
class Findings:
    """Faults and notes about one file, in the order they were found.

    Parameters
    ----------
    source : str
        The file, for messages.
    """

    source: str
    _faults: dict[Fault, None] = field(default_factory=dict)
    _notes: dict[str, None] = field(default_factory=dict)

    @property
    def faults(self) -> list[Fault]:
        """Faults so far; of thousands, the first ones and how many more there are."""
        faults = list(self._faults)
        if len(faults) <= FAULTS_MOST:
            return faults
        more = Fault("the rest", f"{len(faults) - FAULTS_MOST:,} more faults", "the first ones mended")
        return [*faults[:FAULTS_MOST], more]

    @property
    def notes(self) -> tuple[str, ...]:
        """Notes so far; of thousands, the first ones and how many more there are."""
        notes = tuple(self._notes)
        if len(notes) <= NOTES_MOST:
            return notes
        return (*notes[:NOTES_MOST], f"{len(notes) - NOTES_MOST:,} more notes")

    def fault(self, where: str, found: str, expected: str) -> None:
        """Add something that is wrong; the same fault is kept once."""
        self._faults[Fault(where, found, expected)] = None

    def note(self, text: str) -> None:
        """Add something that was assumed; the same note is kept once."""
        self._notes[text] = None

    def stop(self, where: str, found: str, expected: str) -> CourseError:
        """Return the error that ends the reading here, with every fault found so far."""
        self.fault(where, found, expected)
        return CourseError(self.source, self.faults)

    def check(self, *, partial: bool = False) -> None:
        """Raise if there are faults; with ``partial`` turn them into notes.

        Raises
        ------
        CourseError
            Carrying every fault.
        """
        if self._faults and not partial:
            raise CourseError(self.source, self.faults)
        for fault in self._faults:
            self.note(f"{fault}; not used")
        self._faults.clear()
