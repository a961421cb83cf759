"""TOML files read, and the complaints about what is in them."""

from __future__ import annotations

import difflib
import json
import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from spotdwell.base import foreign
from spotdwell.base.errors import InputError, together

Where = Callable[[str], str]
"""What an error calls a key, such as "shot.toml: beam.power" for "beam.power"."""

_LIMITS = {"greater_than": "more than", "greater_than_equal": "at least", "less_than": "less than"}
_LIMITS |= {"less_than_equal": "at most"}
_LIMIT_KEYS = ("gt", "ge", "lt", "le")
_KINDS = {
    "float": "a number",
    "int": "a whole number",
    "bool": "true or false",
    "string": "a text in quotes",
    "tuple": "a list",
    "model": "a table",
    "dict": "a table",
    "finite": "a finite number",
}


def syntax_complaint(error: tomllib.TOMLDecodeError, where: str) -> InputError:
    """`InputError` for text that is no TOML."""
    advice = 'Texts and quantities stand in quotes, as in power = "25 W".'
    return InputError(where, "TOML", f"text that is none: {error}", advice)


def schema_complaint(error: ValidationError, model: type[BaseModel], where: Where) -> InputError:
    """One `InputError` for all that a schema found: itself if it is one problem, else a list of lines."""
    all_details = error.errors(include_url=False)
    found = [_complaint(one, model, where) for one in all_details if not _follows(one, all_details)]
    return together(found, where(""))


def _follows(details: ErrorDetails, others: Sequence[ErrorDetails]) -> bool:
    """Whether a list is called too short only because its entries are wrong."""
    location = details["loc"]
    deeper = (one["loc"] for one in others if len(one["loc"]) > len(location))
    return details["type"] == "too_short" and any(one[: len(location)] == location for one in deeper)


def _complaint(details: ErrorDetails, model: type[BaseModel], where: Where) -> InputError:
    key, kind, context = key_text(details["loc"]), details["type"], details.get("ctx", {})
    got = shown(details["input"])
    if kind == "spotdwell":
        parts = [part for part in (key, context["key"]) if part]
        return InputError(where(".".join(parts)), context["expected"], context["got"], context["advice"])
    if kind == "extra_forbidden":
        return _unknown_key(details["loc"], model, where)
    if kind == "missing":
        return InputError(where(key), _missing(details["loc"], model), "nothing", "Add it.")
    if kind in _LIMITS:
        limit = next(context[name] for name in _LIMIT_KEYS if name in context)
        return InputError(where(key), f"{_LIMITS[kind]} {limit:g}", got)
    if kind in ("enum", "literal_error"):
        return InputError(where(key), str(context["expected"]).replace("'", '"'), got)
    if kind in ("too_short", "string_too_short"):
        expected = "at least one entry" if kind == "too_short" else "a text"
        return InputError(where(key), expected, "an empty one")
    return InputError(where(key), _KINDS.get(kind.split("_")[0], details["msg"].lower()), got)


def _unknown_key(location: Sequence[int | str], model: type[BaseModel], where: Where) -> InputError:
    """Error for a key that the table has not, with the nearest one that it has."""
    known = list(_model_at(location[:-1], model).model_fields)
    near = difflib.get_close_matches(str(location[-1]), known, n=1, cutoff=0.6)
    advice = f"Did you mean {near[0]}?" if near else f"Known keys: {', '.join(known)}."
    return InputError(where(key_text(location)), "a known key", f'"{location[-1]}"', advice)


def _missing(location: Sequence[int | str], model: type[BaseModel]) -> str:
    """What a missing key should hold."""
    field = _model_at(location[:-1], model).model_fields.get(str(location[-1]))
    for kind in field.metadata if field else ():
        if example := getattr(kind, "example", None):
            return f'a quantity, such as {location[-1]} = "{example}"'
    nested = field is not None and any(issubclass(one, BaseModel) for one in _classes(field.annotation))
    name = f"[{key_text(location)}]"
    if field is not None and get_origin(field.annotation) is tuple:
        name = f"[{name}]"
    return f"the table {name}" if nested else f"the key {location[-1]}"


def _model_at(location: Iterable[int | str], model: type[BaseModel]) -> type[BaseModel]:
    """Model of the table at `location` below `model`; the deepest one known where the path leaves it."""
    for step in location:
        field = model.model_fields.get(str(step))
        inner = [one for one in _classes(field.annotation) if issubclass(one, BaseModel)] if field else []
        if inner:
            model = inner[0]
    return model


def _classes(annotation: Any) -> list[type]:
    """Classes named anywhere in a type annotation."""
    if isinstance(annotation, type) and not get_args(annotation):
        return [annotation]
    return [one for argument in get_args(annotation) for one in _classes(argument)]


def key_text(location: Sequence[int | str]) -> str:
    """ "target.layers[0].thickness" from its steps."""
    text = ""
    for step in location:
        text += f"[{step}]" if isinstance(step, int) else f".{step}"
    return text.removeprefix(".")


def shown(value: object) -> str:
    """A value of a TOML file as a reader would write it, shortened."""
    if isinstance(value, dict):
        return "a table"
    try:
        text = json.dumps(value, ensure_ascii=False, default=str)
    except (ValueError, RecursionError):
        return "what is too long or too deep to be shown"
    return text if len(text) <= 60 else f"{text[:57]}..."


MOST_BYTES = 4_000_000
"""Of a TOML file; the longest of ours has 8 kB."""


def table_of(text: str, name: str) -> dict[str, Any]:
    """The tables in TOML `text`; errors call it `name`. Raises InputError."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise syntax_complaint(error, name) from None
    except RecursionError:
        raise InputError(name, f"at most {foreign.DEEPEST} tables within tables", "a deeper nest") from None
    except ValueError as error:
        got = "a number of too many digits" if "digits" in str(error) else str(error)
        raise InputError(name, "TOML with numbers that can be read", got) from None


def check_foreign(data: Mapping[str, Any], where: Where) -> None:
    """Raise InputError for control characters in texts or keys, and for tables nested without end."""
    for place, got in foreign.faults(data):
        expected = "text that can be shown" if "characters" in got else "tables that a person wrote"
        raise InputError(foreign.shown(where(key_text(place))), expected, got, "Take them out.")


def text_in(path: Path, expected: str, where: str = "", advice: str = "", most: int = MOST_BYTES) -> str:
    """Text of the plain file at `path`. Raises InputError, at `where` or else at the path."""
    try:
        return foreign.text_of(path, most)
    except OSError as error:
        reason = error.strerror or "nothing"
    except ValueError as error:
        reason = str(error)
    raise InputError(where or str(path), expected, reason[:1].lower() + reason[1:], advice) from None
