"""Errors of `checks` as rows: codes and parameters. Sentences: builds/ui/messages/circuit.py."""

from checks.errors import ChecksError

NOT_CALCULATED = "not-calculated"  # {"because": another row}


def problem_row(error: ChecksError) -> dict:
    """An error with its parameters, an error within it included; the developers' text is for codes without a
    sentence."""
    params = {n: problem_row(v) if isinstance(v, ChecksError) else v for n, v in error.params.items()}
    return {"code": error.code, "params": params, "argument": error.argument, "text": str(error)}


def read_error(row: dict) -> ChecksError:
    """The error of such a row."""
    params = {n: read_error(v) if n == "inner" else v for n, v in row["params"].items()}
    return ChecksError(row["text"], argument=row["argument"], code=row["code"], **params)
