"""What the system says of the language of its person; Windows and Android are stood in for."""

from __future__ import annotations

import ctypes
import sys
from types import ModuleType, SimpleNamespace

import pytest

from walkapp.devices.system import system_locales
from walkapp.languages import nearest

VARIABLES = ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG")


@pytest.fixture(autouse=True)
def nothing_is_set(monkeypatch):
    for name in VARIABLES:
        monkeypatch.delenv(name, raising=False)


@pytest.mark.parametrize("number", range(4))
def test_the_first_variable_that_says_something_is_meant(monkeypatch, number):
    # The order is that of the manual of GNU gettext, "Locale Environment Variables"; from memory.
    monkeypatch.setenv("LANGUAGE", "")
    for name in VARIABLES[number:]:
        monkeypatch.setenv(name, "pl_PL.UTF-8" if name == VARIABLES[number] else "de_DE.UTF-8")

    assert system_locales() == ("pl_PL.UTF-8",)


def test_several_languages_may_be_named_the_most_wanted_first(monkeypatch):
    monkeypatch.setenv("LANGUAGE", "fr_FR:pl::de")

    assert system_locales() == ("fr_FR", "pl", "de")
    assert nearest(*system_locales()) == "pl"


def test_a_system_that_does_not_say_it_is_spoken_to_in_english():
    assert system_locales() == ()
    assert nearest(*system_locales()) == "en"


@pytest.mark.parametrize(("number", "told"), [(0x0407, ("de_DE",)), (0x080A, ("es_MX",)), (0xFFFF, ())])
def test_windows_is_asked_for_the_language_of_its_windows(monkeypatch, number, told):
    # Language identifiers as the Python standard library lists them (locale.windows_locale).
    kernel = SimpleNamespace(GetUserDefaultUILanguage=lambda: number)
    monkeypatch.setattr(ctypes, "windll", SimpleNamespace(kernel32=kernel), raising=False)
    monkeypatch.setattr(sys, "platform", "win32")

    assert system_locales() == told


def test_android_is_asked_through_java(monkeypatch):
    # Locale.toLanguageTag gives BCP 47 (documentation of java.util.Locale; from memory).
    jnius = ModuleType("jnius")
    tag = SimpleNamespace(toLanguageTag=lambda: "es-MX")
    jnius.autoclass = lambda name: {"java.util.Locale": SimpleNamespace(getDefault=lambda: tag)}[name]
    monkeypatch.setitem(sys.modules, "jnius", jnius)
    monkeypatch.setenv("ANDROID_ARGUMENT", "/data/app")

    assert system_locales() == ("es-MX",)
    assert nearest(*system_locales()) == "es_MX"
