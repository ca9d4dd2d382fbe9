"""One cell of a row: as it is written to the file, and as it is taken from one."""

from datetime import datetime
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db.models import BinaryField, FileField, ForeignKey, JSONField

from builds.operations.transfer.errors import TransferError


def write_cell(value):
    """A value for JSON: moments to the microsecond, keys in words."""
    if isinstance(value, datetime):
        return value.isoformat()
    return str(value) if isinstance(value, UUID) else value


def read_cell(field, value, where: str):
    """A value for a column, checked as a form would: its type, length, range and choices. Raises TransferError."""
    if isinstance(field, (ForeignKey, FileField, BinaryField)):
        raise TypeError(f"{field} is not a plain column")
    if value is None:
        return _empty(field, where)
    if isinstance(field, JSONField):
        return value
    _refuse_other_type(field, value, where)
    try:
        value = field.to_python(value)
        field.run_validators(value)
    except (ValidationError, OverflowError, ValueError) as error:
        message = "; ".join(error.messages) if isinstance(error, ValidationError) else str(error)
        raise TransferError(f"{where}: {field.name} is not accepted. {message[:200]}") from error
    if isinstance(value, datetime) and value.tzinfo is None:
        raise TransferError(f"{where}: {field.name} has no time zone.")
    if isinstance(value, str) and "\0" in value:
        raise TransferError(f"{where}: {field.name} has a character that is not text.")
    if field.choices and value not in ("", *dict(field.flatchoices)):
        raise TransferError(f"{where}: {field.name} is {value!r:.60}, which is not an accepted value.")
    return value


def _empty(field, where: str):
    if not field.null:
        raise TransferError(f"{where}: {field.name} is empty.")


KINDS: dict[str, type | tuple[type, ...]] = {
    "BooleanField": bool,
    "FloatField": (int, float),
    "PositiveIntegerField": int,
    "PositiveSmallIntegerField": int,
    "IntegerField": int,
}


def _refuse_other_type(field, value, where: str) -> None:
    kind = KINDS.get(field.get_internal_type(), str)
    if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
        raise TransferError(f"{where}: {field.name} has the wrong type.")
