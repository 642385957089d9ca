"""Every exception the program raises on purpose.

::

    StoreyrodError(Exception)                      root: code, hint, details, exit_status
      InputError(StoreyrodError, ValueError)       what the user gave is impossible        exit 2
        UnitError                                  a length, angle or scale nobody can read
        FieldError                                 a field of the survey has a bad value
      GeometryError(StoreyrodError, ArithmeticError)   the picture cannot give it          exit 3
        DegenerateError                            picks in a line, parallel rays, a crossed frame
        UnderdeterminedError                       something is missing; `.unobservable` names it
        NotConvergedError                          the adjustment found no answer
      FileError(StoreyrodError, OSError)           a file cannot be read or written        exit 4
        SurveyFileError                            missing, damaged or from a newer version
        PhotoError                                 not a photo, cut short, or too large
        ExportError                                an output cannot be written

Wrong calls by a programmer (shape, type) are plain ``ValueError`` and
``TypeError``. Anything weak but usable is a warning in a result, not an exception.
"""

from __future__ import annotations

from typing import Any


class StoreyrodError(Exception):
    """Root of the tree.

    Parameters
    ----------
    message : str
        One sentence: what, where, what was found, what was wanted.
    hint : str, optional
        What to do about it, in the user's words; shown after the message.
    details : dict, optional
        JSON-able facts for the page, such as the face or the pick concerned.
    """

    code = "error"
    exit_status = 1

    def __init__(
        self, message: str, *, hint: str = "", details: dict[str, Any] | None = None
    ) -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint
        self.details: dict[str, Any] = dict(details or {})

    def __str__(self) -> str:
        """Join message and hint into the one line that the user reads."""
        return f"{self.message} {self.hint}".strip() if self.hint else self.message


class InputError(StoreyrodError, ValueError):
    """What the user gave is impossible."""

    code = "input"
    exit_status = 2


class UnitError(InputError):
    """A length, an angle or a scale that cannot be read."""

    code = "unit"


class FieldError(InputError):
    """A field of the survey holds a bad value."""

    code = "field"


class GeometryError(StoreyrodError, ArithmeticError):
    """The picture cannot give what was asked."""

    code = "geometry"
    exit_status = 3


class DegenerateError(GeometryError):
    """The picks lie so that they fix nothing: in a line, crossed, on one spot."""

    code = "degenerate"


class UnderdeterminedError(GeometryError):
    """Something is missing.

    Parameters
    ----------
    unobservable : sequence of str
        Names of what cannot be found from the picks given.
    """

    code = "underdetermined"

    def __init__(
        self,
        message: str,
        *,
        hint: str = "",
        details: dict[str, Any] | None = None,
        unobservable: tuple[str, ...] = (),
    ) -> None:
        super().__init__(message, hint=hint, details=details)
        self.unobservable = tuple(unobservable)


class NotConvergedError(GeometryError):
    """The adjustment did not settle."""

    code = "not-converged"


class FileError(StoreyrodError, OSError):
    """A file cannot be read or written."""

    code = "file"
    exit_status = 4


class SurveyFileError(FileError):
    """A survey file is missing, damaged, or from a newer version of the program."""

    code = "survey-file"


class PhotoError(FileError):
    """A photo is missing, is not a photo, is cut short or is too large."""

    code = "photo"


class ExportError(FileError):
    """An output cannot be written."""

    code = "export"
