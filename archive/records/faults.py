"""What is wrong with a field, in words for people instead of pydantic's words for programmers."""

from __future__ import annotations

from pydantic_core import ErrorDetails

_IN_WORDS = {
    "missing": "is missing",
    "extra_forbidden": "is not known",
    "string_type": "must be words",
    "string_too_short": "is missing",
    "string_too_long": "is longer than {max_length:,} characters",
    "string_pattern_mismatch": "is not written as it must be",
    "int_type": "must be a whole number",
    "int_parsing": "must be a whole number",
    "int_from_float": "must be a whole number",
    "float_type": "must be a number",
    "float_parsing": "must be a number",
    "finite_number": "must be a number",
    "bool_type": "must be yes or no",
    "bool_parsing": "must be yes or no",
    "date_type": "must be a day such as 2024-05-31",
    "date_parsing": "must be a day such as 2024-05-31",
    "date_from_datetime_parsing": "must be a day such as 2024-05-31",
    "date_from_datetime_inexact": "must be a day such as 2024-05-31",
    "greater_than": "must be more than {gt:g}",
    "greater_than_equal": "must be {ge:g} or more",
    "less_than_equal": "must be {le:,g} or less",
    "literal_error": "must be {expected}",
    "tuple_type": "must be a list",
    "model_type": "must have fields of its own",
}


def tell_fault(error: ErrorDetails) -> str:
    """What is wrong, to stand behind the field's name.

    >>> from pydantic import TypeAdapter, ValidationError
    >>> try:
    ...     TypeAdapter(int).validate_python("many")
    ... except ValidationError as refusal:
    ...     tell_fault(refusal.errors()[0])
    'must be a whole number'
    """
    words = _IN_WORDS.get(error["type"])
    if words is None:
        return error["msg"].removeprefix("Value error, ")
    return words.format(**error.get("ctx", {}))
