"""What a reader finds wrong and what it assumes, gathered while it reads."""

from dataclasses import dataclass, field

from caddiebrain.errors import CourseError, Fault

__all__ = ["Findings"]


@dataclass
class Findings:
    """Faults and notes about one file, in the order they were found.

    Parameters
    ----------
    source : str
        The file, for messages.
    """

    source: str
    faults: list[Fault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def fault(self, where: str, found: str, expected: str) -> None:
        """Add something that is wrong; the same fault is kept once."""
        fault = Fault(where, found, expected)
        if fault not in self.faults:
            self.faults.append(fault)

    def note(self, text: str) -> None:
        """Add something that was assumed; the same note is kept once."""
        if text not in self.notes:
            self.notes.append(text)

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
        if self.faults and not partial:
            raise CourseError(self.source, self.faults)
        for fault in self.faults:
            self.note(f"{fault}; not used")
        self.faults.clear()
