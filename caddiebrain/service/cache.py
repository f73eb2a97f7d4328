"""The only state a service has: answers in memory and plans on disk, both bounded, the longest unused let go first."""

from collections import OrderedDict
from pathlib import Path

__all__ = ["Answers", "Plans"]


class Answers:
    """Answers by key.

    Parameters
    ----------
    most : int
        How many.
    most_bytes : int
        Of all of them.
    """

    def __init__(self, most: int, most_bytes: int) -> None:
        self.most, self.most_bytes, self.bytes = most, most_bytes, 0
        self._kept: OrderedDict[str, bytes] = OrderedDict()

    def __len__(self) -> int:
        return len(self._kept)

    def get(self, key: str) -> bytes | None:
        """Return an answer, and count it as used."""
        if key in self._kept:
            self._kept.move_to_end(key)
        return self._kept.get(key)

    def put(self, key: str, answer: bytes) -> None:
        """Keep an answer, unless it is larger than all may be."""
        if len(answer) > self.most_bytes or key in self._kept:
            return
        self._kept[key] = answer
        self.bytes += len(answer)
        while len(self._kept) > self.most or self.bytes > self.most_bytes:
            self.bytes -= len(self._kept.popitem(last=False)[1])


class Plans:
    """Files of plans by key; the workers write and read them.

    Parameters
    ----------
    directory : Path
        Private to one service.
    most, most_bytes : int
        As for `Answers`.
    """

    def __init__(self, directory: Path, most: int, most_bytes: int) -> None:
        self.directory, self.most, self.most_bytes = directory, most, most_bytes
        self._sizes: OrderedDict[str, int] = OrderedDict()

    def __len__(self) -> int:
        return len(self._sizes)

    @property
    def bytes(self) -> int:
        """Of all plans kept."""
        return sum(self._sizes.values())

    def file(self, key: str) -> str:
        """Where a plan is, or is to be; empty if none is kept at all."""
        return str(self.directory / f"{key}.plan") if self.most and self.most_bytes else ""

    def has(self, key: str) -> bool:
        """Whether a plan is there; counts as use."""
        if key in self._sizes:
            self._sizes.move_to_end(key)
        return key in self._sizes

    def put(self, key: str, size: int) -> None:
        """Note a plan that a worker has written, and let go of what is too much."""
        if size == 0:
            return
        self._sizes[key] = size
        self._sizes.move_to_end(key)
        while self._sizes and (len(self._sizes) > self.most or self.bytes > self.most_bytes):
            old, _ = self._sizes.popitem(last=False)
            Path(self.file(old)).unlink(missing_ok=True)
