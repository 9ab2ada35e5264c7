"""The description's JSON schema, for editors that complete and check while one types."""

from partgen.describe import presets
from partgen.describe.description import KINDS, LISTED, Description

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def json_schema() -> dict:
    """Return the schema (draft 2020-12) of a description file, with units, ranges and reasons.

    A table that starts from a preset may leave out what the preset gives.
    """
    schema = Description.model_json_schema()
    for definition in (schema, *schema["$defs"].values()):
        for field in definition["properties"].values():
            _say_unit(field)
    for kind in KINDS.keys() - LISTED.keys():
        _allow_use(schema["$defs"][KINDS[kind].__name__], list(presets.catalogue().get(kind, ())))
    return {"$schema": DIALECT, **schema, "title": "partgen description"}


def _say_unit(field):
    """Put unit and how to measure into the text that editors show."""
    unit, measure = field.get("unit"), field.get("measure")
    if "description" in field:
        field["description"] += (f" [{unit}]" if unit else "") + (f" ({measure})" if measure else "")


def _allow_use(definition, names):
    if not names:
        return
    use = {"anyOf": [{"enum": names}, {"type": "string", "pattern": r"\.toml$"}],
           "description": "start from this preset, or from a file of your own; the other lines replace what differs"}
    definition["properties"]["use"] = use
    required = definition.pop("required", [])
    if required:
        definition["anyOf"] = [{"required": ["use"]}, {"required": required}]
