"""A checklist in several languages: `de.toml` beside its files says what each text is in German."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from walkapp.checklists import load_streams, load_translations, parse_stream, stream_files
from walkapp.errors import ChecklistError

READY = Path(__file__).parents[2] / "checklists" / "washer-reservoir"
ID = "washer-reservoir"
GERMAN = """
"Injection moulding" = "Spritzgießen"
"Moulding" = "Spritzguss"
"Whitened or cracked mounting ear" = "Weiße oder gerissene Befestigungsöse"
"""


def files(**more: str) -> dict[str, bytes]:
    """Give the files of the ready-made checklist without its own translations, and more files."""
    plain = {
        n: data
        for n, data in stream_files(READY).items()
        if n in ("stream.toml", "checks.toml", "audits.toml")
    }
    return plain | {f"{name}.toml": text.encode() for name, text in more.items()}


def mistakes(**more: str) -> list[str]:
    with pytest.raises(ChecklistError) as caught:
        parse_stream(ID, files(**more), language=next(iter(more)))
    return [str(one) for one in caught.value.mistakes]


def test_texts_for_people_are_given_in_the_language_that_is_wanted():
    stream = parse_stream(ID, files(de=GERMAN), language="de")

    assert stream.stations[0].name == "Spritzgießen"
    assert stream.stations[0].short == "Spritzguss"
    assert stream.defects[0].name == "Weiße oder gerissene Befestigungsöse"


def test_what_is_not_translated_and_what_is_no_text_for_people_stays():
    plain = parse_stream(ID, files())
    stream = parse_stream(ID, files(de=GERMAN), language="de")

    assert stream.stations[1].name == plain.stations[1].name
    assert stream.stations[0].units == plain.stations[0].units
    assert [s.id for s in stream.stations] == [s.id for s in plain.stations]
    assert stream.shifts == plain.shifts


@pytest.mark.parametrize("language", ["", "en", "pl", "zz"])
def test_another_language_is_as_the_checklist_stands(language):
    assert parse_stream(ID, files(de=GERMAN), language=language).stations[0].name == "Injection moulding"


def test_countries_share_the_file_of_their_language():
    stream = parse_stream(ID, files(es='"Moulding" = "Moldeo"'), language="es_MX")

    assert stream.stations[0].short == "Moldeo"


def test_the_digest_is_that_of_the_files_in_every_language():
    made = files(de=GERMAN)

    assert parse_stream(ID, made).digest == parse_stream(ID, made, language="de").digest
    assert parse_stream(ID, made).digest != parse_stream(ID, files()).digest


def test_a_text_that_the_checklist_does_not_have_is_a_mistake_with_its_line_and_the_nearest_text():
    (said,) = mistakes(de='"Moulding" = "Spritzguss"\n"Injection mouldin" = "Spritzgießen"\n')

    assert said.startswith(f"{ID}/de.toml, line 2: no text of the checklist reads “Injection mouldin”")
    assert "did you mean Injection moulding?" in said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('"Moulding" = 3', "is 3"),
        ('"Moulding" = ""', "is empty"),
        ('"Moulding" = "A translation that is far too long"', "short has 34 characters"),
        ('"Moulding" = "Spritz\\u202eguss"', "unseen character U+202E"),
        ('"Moulding" = ', "this is not TOML"),
        ('["Moulding"]\nx = "y"', "write a text in quotes"),
    ],
)
def test_a_translation_that_cannot_be_used_is_told_in_one_sentence(text, said):
    assert any(said in one for one in mistakes(de=text))


def test_validate_reads_every_language_and_says_what_is_missing(tmp_path):
    folder = tmp_path / ID
    folder.mkdir()
    for name, data in files(de=GERMAN, pl='"Moulding" = "Wtrysk"').items():
        (folder / name).write_bytes(data)

    found = load_translations(tmp_path)[ID]

    assert set(found) == {"de.toml", "pl.toml"}
    assert "Injection moulding" in found["pl.toml"]
    assert "Injection moulding" not in found["de.toml"]
    assert len(load_streams(tmp_path)) == 1


def test_a_mistake_in_a_language_that_nobody_speaks_here_is_found_by_validate_alone(tmp_path):
    folder = tmp_path / ID
    folder.mkdir()
    for name, data in files(de="broken").items():
        (folder / name).write_bytes(data)

    assert load_streams(tmp_path, language="pl")
    with pytest.raises(ChecklistError, match=r"de\.toml"):
        load_translations(tmp_path)


def test_a_file_that_is_no_language_has_no_meaning():
    with pytest.raises(ChecklistError, match="the file has no meaning here"):
        parse_stream(ID, files(german=GERMAN))


@given(st.text(max_size=60), st.text(max_size=60))
def test_any_translation_is_taken_or_refused_in_words(key, value):
    text = "".join(f"\\U{ord(c):08X}" if not c.isalnum() else c for c in key)
    told = "".join(f"\\U{ord(c):08X}" if not c.isalnum() else c for c in value)
    try:
        parse_stream(ID, files(de=f'"{text}" = "{told}"'), language="de")
    except ChecklistError as error:
        assert all(len(str(one)) < 700 for one in error.mistakes)


@pytest.mark.parametrize("code", ["de", "es", "pl"])
def test_the_ready_made_checklists_are_whole_in_every_language_that_the_program_speaks(code):
    found = load_translations(READY.parent)

    missing = {stream: of_files.get(f"{code}.toml") for stream, of_files in found.items()}
    assert missing == dict.fromkeys(found, ())
    plain = load_streams(READY.parent)
    told = load_streams(READY.parent, language=code)
    same = [
        one.name
        for stream, other in zip(plain, told, strict=True)
        for one, another in zip(stream.stations, other.stations, strict=True)
        if one.name == another.name
    ]
    assert same == []


def test_a_station_whose_name_is_too_long_for_a_tile_takes_the_short_name_of_the_language():
    told = '"Leak test" = "Dichtheitsprüfung"\n'

    (said,) = mistakes(de=told)
    stream = parse_stream(ID, files(de=told + '"Leak test (short)" = "Dichtheit"'), language="de")

    assert 'add "... (short)" = "..." of at most 14 beside its translation' in said
    assert (stream.stations[3].name, stream.stations[3].short) == ("Dichtheitsprüfung", "Dichtheit")
