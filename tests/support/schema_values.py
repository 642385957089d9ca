"""Any value that a pydantic type takes, made from its JSON schema; for property tests.

What ties several fields together stands in validators and not in the schema, so
values that those refuse are thrown away.
"""

from __future__ import annotations

import math
from typing import Any

from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

LONGEST_LIST = 3
LETTERS = st.characters(
    exclude_categories=("Cs", "Cc"), include_characters="\t\n", exclude_characters="\ufffe\uffff"
)
IDENTIFIERS = st.text(
    st.characters(
        exclude_categories=("Cs", "Cc", "Zs", "Zl", "Zp"),
        exclude_characters="/\\<>\"'&\ufffe\uffff",
    ),
    min_size=1,
    max_size=8,
).filter(lambda name: not any(letter.isspace() for letter in name))


def values_of(kind: Any, given: dict[str, st.SearchStrategy[Any]]) -> st.SearchStrategy[Any]:
    """Make plain data that `kind` takes.

    ``given`` has strategies for parts of the schema by name, for those whose plain data is
    not what their schema says, as a pick's list.
    """
    adapter: TypeAdapter[Any] = TypeAdapter(kind)
    schema = adapter.json_schema()
    definitions = schema.get("$defs", {})

    def is_taken(value: Any) -> bool:
        try:
            adapter.validate_python(value)
        except ValidationError:
            return False
        return True

    return _values(schema, definitions, given).filter(is_taken)


def _values(
    schema: dict[str, Any], definitions: dict[str, Any], given: dict[str, st.SearchStrategy[Any]]
) -> st.SearchStrategy[Any]:
    def inner(part: dict[str, Any]) -> st.SearchStrategy[Any]:
        return _values(part, definitions, given)

    if "$ref" in schema:
        name = schema["$ref"].rsplit("/", 1)[1]
        return given[name] if name in given else st.deferred(lambda: inner(definitions[name]))
    if "const" in schema:
        return st.just(schema["const"])
    if "enum" in schema:
        return st.sampled_from(schema["enum"])
    choices = schema.get("anyOf") or schema.get("oneOf")
    if choices:
        return st.one_of(*map(inner, choices))
    match schema.get("type"):
        case "object" if "properties" in schema:
            parts = {name: inner(part) for name, part in schema["properties"].items()}
            needed = schema.get("required", [])
            return st.fixed_dictionaries(
                {name: parts[name] for name in needed},
                optional={name: part for name, part in parts.items() if name not in needed},
            )
        case "object":
            patterns = list(schema.get("patternProperties", {}).values())
            by_name = patterns[0] if patterns else schema["additionalProperties"]
            return st.dictionaries(IDENTIFIERS, inner(by_name), max_size=2)
        case "array" if "prefixItems" in schema:
            return st.tuples(*map(inner, schema["prefixItems"])).map(list)
        case "array":
            least = schema.get("minItems", 0)
            most = min(schema.get("maxItems", math.inf), least + LONGEST_LIST)
            return st.lists(inner(schema["items"]), min_size=least, max_size=int(most))
        case "string" if "pattern" in schema:
            return IDENTIFIERS
        case "string":
            return st.text(LETTERS, min_size=schema.get("minLength", 0), max_size=12)
        case "number":
            return _numbers(schema)
        case "integer":
            low = schema.get("minimum", schema.get("exclusiveMinimum", -1) + 1)
            return st.integers(low, schema.get("maximum", low + 1000))
        case "boolean":
            return st.booleans()
        case "null":
            return st.none()
    raise ValueError(f"no values for the schema {schema}")


def _numbers(schema: dict[str, Any]) -> st.SearchStrategy[float]:
    low = schema.get("exclusiveMinimum", schema.get("minimum", -1e12))
    high = schema.get("exclusiveMaximum", schema.get("maximum", 1e12))
    return st.floats(
        low,
        high,
        exclude_min="exclusiveMinimum" in schema,
        exclude_max="exclusiveMaximum" in schema,
    )
