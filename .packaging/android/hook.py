"""Puts into the Android manifest what buildozer has no word for; python-for-android calls it.

Its option for additions inside ``<application>`` takes attributes alone, as far as its source tells.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

PROVIDER = """
        <provider
            android:name="androidx.core.content.FileProvider"
            android:authorities="${applicationId}.pictures"
            android:exported="false"
            android:grantUriPermissions="true">
            <meta-data
                android:name="android.support.FILE_PROVIDER_PATHS"
                android:resource="@xml/provider_paths" />
        </provider>
"""

QUERIES = """
    <queries>
        <intent>
            <action android:name="android.media.action.IMAGE_CAPTURE" />
        </intent>
    </queries>
"""
"""From Android 11 on an app sees only those other apps that it says it asks for."""


def with_provider(manifest: str) -> str:
    """Add the provider and the question for camera programs to a manifest, once.

    Raises
    ------
    ValueError
        If the manifest has no application.
    """
    if manifest.count("</application>") != 1:
        raise ValueError(
            "the manifest has no end of its application, or several; see .packaging/android/hook.py"
        )
    if "androidx.core.content.FileProvider" in manifest:
        return manifest
    return manifest.replace("</application>", f"{PROVIDER}    </application>\n{QUERIES}")


def after_apk_build(toolchain: Any) -> None:
    """Change the manifest of the project that was laid out, before it is put together."""
    manifest = Path(toolchain._dist.dist_dir) / "src" / "main" / "AndroidManifest.xml"
    manifest.write_text(with_provider(manifest.read_text(encoding="utf-8")), encoding="utf-8")
