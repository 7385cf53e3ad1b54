"""What is handed to the builder for Android: checked as far as that goes without an Android."""

from __future__ import annotations

import configparser
import subprocess
import sys
import tomllib
import xml.etree.ElementTree as ET
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import SimpleNamespace

import pytest
from packaging.requirements import Requirement

from tests.fakes import Desk
from walkapp import __version__
from walkapp.cli import main
from walkapp.paper.library import NO_LIBRARY

REPOSITORY = Path(__file__).resolve().parents[2]
ANDROID = REPOSITORY / ".packaging" / "android"

RECIPES = {"python3": "3.14.2", "kivy": "2.3.1", "pillow": "11.3.0", "pyjnius": "1.7.0", "android": ""}
"""Recipes and their versions, read in the source of python-for-android 2026.5.9 (November 2026)."""

NOT_ON_TABLETS = {"matplotlib"}
"""Run-time packages that are left out; the program says so in one sentence where it would need one."""

NAMESPACE = "{http://schemas.android.com/apk/res/android}"


@pytest.fixture(scope="module")
def spec():
    parser = configparser.ConfigParser()
    parser.read_string((ANDROID / "buildozer.spec").read_text(encoding="utf-8"))
    return parser["app"]


@pytest.fixture(scope="module")
def project():
    return tomllib.loads((REPOSITORY / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def words(spec, name) -> list[str]:
    return [word.strip() for word in spec[name].split(",")]


def test_version_and_orientations_are_those_of_the_program(spec):
    assert spec["version"] == __version__
    assert {"landscape", "portrait"} <= set(words(spec, "orientation"))


def test_every_requirement_is_a_recipe_or_a_run_time_package_in_a_version_that_is_allowed(spec, project):
    wanted = {Requirement(line).name: Requirement(line) for line in project["dependencies"]}
    asked = {Requirement(word).name: Requirement(word) for word in words(spec, "requirements")}

    assert set(asked) == (set(wanted) - NOT_ON_TABLETS) | {"python3", "pyjnius", "android"}
    for name, requirement in asked.items():
        version = RECIPES.get(name) or str(requirement.specifier).removeprefix("==")
        if name in wanted:
            assert wanted[name].specifier.contains(version), name
            assert not requirement.specifier or requirement.specifier.contains(version), name
    major, minor, _ = RECIPES["python3"].split(".")
    assert (int(major), int(minor)) >= (3, 11)


def test_the_permissions_are_these_and_nothing_reaches_a_network(spec):
    assert words(spec, "android.permissions") == ["android.permission.VIBRATE"]
    text = (ANDROID / "buildozer.spec").read_text(encoding="utf-8")
    said = "\n".join(line for line in text.splitlines() if not line.startswith("#"))
    assert "INTERNET" not in said and "STORAGE" not in said and "http" not in said
    assert not spec.getboolean("android.allow_backup")
    assert int(spec["android.minapi"]) >= 24 and int(spec["android.api"]) <= 34


def test_what_is_staged_has_its_start_file_on_top_and_no_kind_of_file_is_left_out(spec, tmp_path):
    source = (ANDROID / spec["source.dir"]).resolve()
    assert source.is_relative_to(REPOSITORY)
    # Buildozer leaves out every folder and file below it that is hidden.
    assert not any(part.startswith(".") for part in source.relative_to(REPOSITORY).parts)

    staged = tmp_path / "app"
    subprocess.run([sys.executable, ANDROID.parent / "stage.py", staged], check=True)

    assert (staged / "main.py").is_file()
    packed = [path for path in staged.rglob("*") if path.is_file() and ".dist-info" not in str(path)]
    kinds = {path.suffix.removeprefix(".") for path in packed} - {""}
    assert kinds == set(words(spec, "source.include_exts"))
    for folder in ("walkapp", "checklists", "demo"):
        read = {
            p
            for p in (REPOSITORY / folder).rglob("*")
            if p.suffix in {".py", ".kv", ".mo", ".po", ".sql", ".toml"}
        }
        target = staged / "walkapp" if folder == "walkapp" else staged / "walkapp" / "data" / folder
        assert {p.relative_to(REPOSITORY / folder) for p in read} <= {
            p.relative_to(target) for p in target.rglob("*")
        }
    again = subprocess.run([sys.executable, ANDROID.parent / "stage.py", staged])
    assert again.returncode == 0
    foreign = subprocess.run(
        [sys.executable, ANDROID.parent / "stage.py", staged / "walkapp"], capture_output=True, text=True
    )
    assert foreign.returncode == 1 and "holds something else" in foreign.stderr


def test_the_program_runs_as_android_runs_it_without_docstrings_and_matplotlib(tmp_path):
    """Android's start sets PYTHONOPTIMIZE=2 (its PythonActivity) and a private folder instead of a home."""
    code = (
        "import sys; sys.modules['matplotlib'] = None\n"
        "from walkapp.cli import main\n"
        "from walkapp.cli.machine import default_store\n"
        "print(default_store()); sys.exit(main(sys.argv[1:]))"
    )
    env = {"ANDROID_PRIVATE": str(tmp_path / "files"), "PYTHONPATH": str(REPOSITORY)}
    done = subprocess.run(
        [sys.executable, "-OO", "-c", code, "validate"],
        env=env,
        cwd=tmp_path,
        capture_output=True,
        text=True,
    )

    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines()[0] == str(tmp_path / "files" / "walkapp")
    desk = Desk(tmp_path)
    desk.store.close()
    drawn = subprocess.run(
        [sys.executable, "-OO", "-c", code, "paper", "--store", str(tmp_path / "store"),
         "--on", "2026-03-09", "--stream", "washer-reservoir",
         "--layer", "supervisor", "--out", str(tmp_path / "paper.pdf")],
        env=env, cwd=tmp_path, capture_output=True, text=True,
    )  # fmt: skip
    assert (drawn.returncode, drawn.stderr) == (2, f"{NO_LIBRARY}\n")
    assert not (tmp_path / "paper.pdf").exists()


def test_an_app_that_cannot_start_shows_a_window_where_there_is_no_terminal(tmp_path, monkeypatch):
    shown = []
    monkeypatch.setattr("walkapp.cli.window.show_trouble", shown.append)
    call = ["--store", str(tmp_path / "store"), "--checklists", str(tmp_path / "nowhere")]
    assert main(call) == 2 and shown == []  # told in the terminal

    monkeypatch.setenv("ANDROID_PRIVATE", str(tmp_path))
    assert main(call) == 2
    (sentence,) = shown
    assert sentence.startswith(f"{tmp_path / 'nowhere'}: there is no such folder")


# --- the manifest -----------------------------------------------------------------------------------

MANIFEST = """<?xml version="1.0" encoding="utf-8"?>
<manifest xmlns:android="http://schemas.android.com/apk/res/android" package="org.example.walkapp">
    <uses-permission android:name="android.permission.VIBRATE" />
    <application android:label="walkapp">
        <activity android:name="org.kivy.android.PythonActivity" />
    </application>
</manifest>
"""
"""The shape of what python-for-android lays out; made up."""


@pytest.fixture(scope="module")
def hook():
    found = spec_from_file_location("hook", ANDROID / "hook.py")
    module = module_from_spec(found)
    found.loader.exec_module(module)
    return module


def test_the_hook_adds_the_provider_that_the_camera_program_writes_through_once(spec, hook, tmp_path):
    assert (ANDROID / spec["p4a.hook"]).is_file()
    manifest = tmp_path / "src" / "main" / "AndroidManifest.xml"
    manifest.parent.mkdir(parents=True)
    manifest.write_text(MANIFEST, encoding="utf-8")
    toolchain = SimpleNamespace(_dist=SimpleNamespace(dist_dir=str(tmp_path)))

    for _ in range(2):
        hook.after_apk_build(toolchain)

    root = ET.fromstring(manifest.read_text(encoding="utf-8"))
    (provider,) = root.findall("application/provider")
    assert provider.get(f"{NAMESPACE}authorities") == "${applicationId}.pictures"
    assert provider.get(f"{NAMESPACE}exported") == "false"
    (paths,) = provider.findall("meta-data")
    assert paths.get(f"{NAMESPACE}resource") == f"@xml/{Path(spec['android.res_xml']).stem}"
    assert (
        root.find("queries/intent/action").get(f"{NAMESPACE}name") == "android.media.action.IMAGE_CAPTURE"
    )


def test_a_manifest_without_an_application_is_an_error(hook):
    with pytest.raises(ValueError, match="no end of its application"):
        hook.with_provider("<manifest/>")


def test_the_camera_program_may_write_into_the_watched_folder_and_nowhere_else(spec):
    (path,) = ET.parse(ANDROID / spec["android.res_xml"]).getroot()
    assert (path.tag, path.get("path")) == ("files-path", "walkapp/incoming-pictures/")
