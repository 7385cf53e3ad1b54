"""Where power cuts cannot be tried, the command says so; the cuts themselves are a long run."""

from __future__ import annotations

import os

import pytest

from tests.soak import power_cuts


@pytest.mark.parametrize(
    ("missing", "said"),
    [
        ("root", "Power cuts need root, to mount small file systems: run this command as root.\n"),
        ("tool", "Power cuts need the command losetup: install util-linux and e2fsprogs.\n"),
    ],
)
def test_a_machine_that_cannot_cut_the_power_is_told_in_one_sentence(monkeypatch, capsys, missing, said):
    monkeypatch.setattr(power_cuts.sys, "platform", "linux")
    monkeypatch.setattr(os, "geteuid", lambda: 1000 if missing == "root" else 0)
    monkeypatch.setattr(power_cuts.shutil, "which", lambda _tool: None)

    assert power_cuts.main(["--count", "1"]) == 2

    assert capsys.readouterr() == ("", said)
