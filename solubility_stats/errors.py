"""The one error and the one warning that everything of ours descends from."""

from __future__ import annotations


class SolubilityStatsError(Exception):
    """Root of every error this library raises on purpose."""


class SolubilityStatsWarning(UserWarning):
    """Root of every warning this library issues on purpose."""


class InputError(SolubilityStatsError, ValueError):
    """Something the caller gave cannot be used, said so that a teacher can mend it.

    Parameters
    ----------
    problem : str
        What is wrong, as a short clause without a full stop.
    where : str, optional
        File, sheet, cell, group or argument the problem sits in.
    found : object, optional
        What was found there.
    expected : str, optional
        What would have been right.
    remedy : str, optional
        What to do about it.

    Attributes
    ----------
    problem, where, found, expected, remedy
        The arguments, kept so that programs need not parse the sentence.
    """

    def __init__(
        self,
        problem: str,
        *,
        where: str = "",
        found: object = None,
        expected: str = "",
        remedy: str = "",
    ) -> None:
        self.problem, self.where, self.found = problem, where, found
        self.expected, self.remedy = expected, remedy
        super().__init__(self._sentence())

    def _sentence(self) -> str:
        text = f"{self.where}: {self.problem}" if self.where else self.problem
        if self.found is not None:
            text += f"; found {self.found!r}"
        if self.expected:
            text += f"; expected {self.expected}"
        text += "."
        return f"{text} {self.remedy}" if self.remedy else text

    def __reduce__(self) -> tuple[object, ...]:
        # Exceptions pickle by their args alone; the keywords have to travel too.
        kept = (self.problem, self.where, self.found, self.expected, self.remedy)
        return (_rebuild_input_error, (type(self), *kept))


def _rebuild_input_error(
    kind: type[InputError], problem: str, where: str, found: object, expected: str, remedy: str
) -> InputError:
    return kind(problem, where=where, found=found, expected=expected, remedy=remedy)


class UnreadableFileError(InputError):
    """A file cannot be opened or holds no table: empty, encrypted, damaged or of a wrong type."""


class OutOfRangeError(InputError):
    """A value lies outside the range for which something is known."""
