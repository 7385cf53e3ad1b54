"""Where cards and drives are plugged in."""

from __future__ import annotations

from pathlib import Path

from walkapp.devices.drives import drives


def test_home_is_always_offered_and_a_place_that_is_not_there_does_no_harm(tmp_path):
    (tmp_path / "user" / "no mount").mkdir(parents=True)
    (tmp_path / "file").write_bytes(b"")

    assert drives((str(tmp_path), str(tmp_path / "file"), "/no/such/place")) == (Path.home(),)


def test_what_is_mounted_is_offered(tmp_path):
    # The one mount that every Linux has.
    assert Path("/proc") in drives(("/",)) or not Path("/proc").is_mount()
