"""What Android tells of memory and keyboard, with modules that stand in for it; no device was at hand."""

from __future__ import annotations

import sys
from types import ModuleType, SimpleNamespace

import pytest

from walkapp.devices.android_life import keyboard_px, when_memory_is_low


@pytest.fixture
def android(monkeypatch):
    """Modules with the calls of pyjnius 1.7 and of python-for-android's own ``android``."""
    registered = []
    context = SimpleNamespace(registerComponentCallbacks=registered.append)
    activity = SimpleNamespace(getApplicationContext=lambda: context)
    jnius = ModuleType("jnius")
    jnius.autoclass = lambda name: (
        SimpleNamespace(mActivity=activity) if name == "org.test.Activity" else None
    )
    jnius.PythonJavaClass = type("PythonJavaClass", (), {})
    jnius.java_method = lambda signature: lambda method: setattr(method, "signature", signature) or method
    config = ModuleType("android.config")
    config.ACTIVITY_CLASS_NAME = "org.test.Activity"
    package = ModuleType("android")
    package.get_keyboard_height = lambda: 412
    for module in (jnius, package, config):
        monkeypatch.setitem(sys.modules, module.__name__, module)
    return registered


def test_memory_is_given_back_when_android_says_that_it_is_low(android):
    calls = []
    assert when_memory_is_low(lambda: calls.append("free"))
    (listener,) = android

    for level in (5, 10, 15, 40, 80):  # 5: "running moderate"
        listener.onTrimMemory(level)
    assert len(calls) == 4
    listener.onLowMemory()
    assert len(calls) == 5
    listener.onConfigurationChanged(None)
    assert len(calls) == 5


def test_the_listener_has_every_method_of_the_interface_with_javas_signature(android):
    when_memory_is_low(lambda: None)
    (listener,) = android

    assert type(listener).__javainterfaces__ == ("android/content/ComponentCallbacks2",)
    assert listener.onTrimMemory.signature == "(I)V"
    assert listener.onLowMemory.signature == "()V"
    assert listener.onConfigurationChanged.signature == "(Landroid/content/res/Configuration;)V"


def test_the_keyboard_is_as_high_as_android_says(android):
    assert keyboard_px() == 412


def test_elsewhere_nothing_happens():
    assert keyboard_px() is None
    assert when_memory_is_low(lambda: None) is False


def test_a_java_that_is_not_there_is_no_error(monkeypatch):
    jnius = ModuleType(
        "jnius"
    )  # as where pyjnius is installed without Java: nothing that is asked for is there
    monkeypatch.setitem(sys.modules, "jnius", jnius)
    assert when_memory_is_low(lambda: None) is False
