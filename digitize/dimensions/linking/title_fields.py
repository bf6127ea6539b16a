"""Fields of the title block by name: scale, material, drawing number, how many of the part."""

from collections.abc import Mapping, Sequence

from digitize.dimensions.linking.entries import Entry
from digitize.lettering.meaning.several_notes import stated_scale
from digitize.lettering.text import Kind, Text
from digitize.standards import scale_note


def noted_scale(fields: Mapping[str, str]) -> float | None:
    """Part mm per true mm of paper by the title block."""
    note = scale_note(fields["scale"]) if "scale" in fields else None
    return None if note is None else float(1 / note.drawn_over_real)


def title_fields(entries: Sequence[Entry], texts: Sequence[Text]) -> dict[str, str]:
    """Fields by name, as read; of several scales the first that is one: a scale bar has words of its own."""
    fields: dict[str, str] = {}
    named = [entry for entry in entries if entry.value is not None and entry.value.name == "scale"]
    scales = [stated_scale(texts[entry.text].readings[0].text) for entry in named]
    known = next((text for text in scales if scale_note(text) is not None), None)
    if known is not None:
        fields["scale"] = known
    for entry in entries:
        if entry.value is not None and entry.value.kind is Kind.NOTE and entry.value.name not in (None, "words"):
            fields.setdefault(str(entry.value.name), texts[entry.text].readings[0].text)
        if entry.value is not None and entry.value.name == "required":
            fields.setdefault("quantity", texts[entry.text].readings[0].text)
    return fields
