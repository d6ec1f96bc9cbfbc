"""The rules of the house: who may import whom, what a file may hold, what the papers of the house promise."""

from __future__ import annotations

import ast
import importlib
import os
import re
import subprocess
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import click
import pytest
from importlinter import cli as import_linter
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

import pegwood
from pegwood.cli import main as pegwood_command

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "src/pegwood"
PURE = ["instruments", "trade", "anatomy", "causes", "pricing", "hearing"]
PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))


def tracked() -> list[Path]:
    """Every file that is in git or would be, should somebody add it."""
    command = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    listed = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    return [ROOT / name for name in listed.split("\0") if name and (ROOT / name).is_file()]


def texts() -> list[tuple[str, str]]:
    """Name and content of every tracked file that is text."""
    found = []
    for path in tracked():
        content = path.read_bytes()
        if b"\0" not in content:
            found.append((str(path.relative_to(ROOT)), content.decode("utf-8", "replace")))
    return found


def modules(folder: Path = PACKAGE) -> list[Path]:
    return [path for path in sorted(folder.rglob("*.py")) if "migrations" not in path.parts]


def room(name: str) -> Path:
    return PACKAGE / name


# --- rooms and arrows -----------------------------------------------------------------------------


def test_the_arrows_of_the_house_run_one_way():
    passed = import_linter.lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True)
    assert passed == import_linter.EXIT_STATUS_SUCCESS


def test_every_room_is_under_a_contract():
    rooms = {path.parent.name for path in PACKAGE.glob("*/__init__.py")}
    contracts = PYPROJECT["tool"]["importlinter"]["contracts"]
    layers = {layer.strip("()").removeprefix("pegwood.") for layer in contracts[0]["layers"]}
    outside_the_layers = {
        "instruments",
        "hearing",
        "frame",
    }  # the first two have contracts of their own; the third holds all others
    assert rooms - layers == outside_the_layers


@pytest.mark.parametrize("name", PURE)
def test_a_pure_room_is_named_in_the_contract_of_pure_rooms(name):
    contracts = PYPROJECT["tool"]["importlinter"]["contracts"]
    pure = next(contract for contract in contracts if contract["name"].startswith("Pure rooms"))
    assert f"pegwood.{name}" in pure["source_modules"]
    assert "django" in pure["forbidden_modules"]


#: Plain values that have a field of a clock's name.
FIELDS_NOW = {"done", "there"}
CLOCKS = {"now", "utcnow", "today", "environ", "getenv", "time_ns", "localtime", "gmtime"}


@pytest.mark.parametrize("name", PURE)
def test_a_pure_room_reads_no_clock_and_no_environment(name):
    seen = [
        f"{path.relative_to(ROOT)}:{node.lineno}: {node.attr}"
        for path in modules(room(name))
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Attribute)
        and node.attr in CLOCKS
        and ast.unparse(node.value) not in FIELDS_NOW
    ]
    assert seen == []


def test_every_module_says_what_it_is_for():
    silent = [
        str(path.relative_to(ROOT))
        for path in modules()
        if not (ast.get_docstring(ast.parse(path.read_text("utf-8"))) or "").strip()
    ]
    assert silent == []


def test_what_a_front_door_names_is_there():
    missing = []
    for path in PACKAGE.rglob("__init__.py"):
        if path.is_relative_to(PACKAGE / "book"):
            continue  # models need Django set up; the book's own tests import them
        name = ".".join(path.parent.relative_to(ROOT / "src").parts)
        module = importlib.import_module(name)
        missing += [
            f"{name}.{public}" for public in getattr(module, "__all__", []) if not hasattr(module, public)
        ]
    assert missing == []


# --- numbers from outside -------------------------------------------------------------------------

MARKS = {"seen", "memory", "practice"}
DATA = [path for path in sorted(PACKAGE.rglob("*.toml")) if not path.is_relative_to(PACKAGE / "demo")]


def without_source(table: dict, where: str, source: str = "", mark: str = "") -> list[str]:
    """Tables with values in them for which neither they nor a table around them name a source and a mark."""
    source, mark = table.get("source", source), table.get("mark", mark)
    inside, holds = [], False
    for key, value in table.items():
        if isinstance(value, dict):
            inside.append((f"{where}.{key}", value))
        elif isinstance(value, list) and value and all(isinstance(one, dict) for one in value):
            inside += [(f"{where}.{key}[{place}]", one) for place, one in enumerate(value)]
        else:
            holds = True
    found = [where] if holds and not (source.strip() and mark in MARKS) else []
    return found + [bad for name, one in inside for bad in without_source(one, name, source, mark)]


@pytest.mark.parametrize("path", DATA, ids=lambda path: path.name)
def test_every_table_of_data_has_a_source_and_a_mark(path):
    assert without_source(tomllib.loads(path.read_text("utf-8")), path.name) == []


def test_a_table_without_source_or_with_a_wrong_mark_is_found():
    good = 'source = "a standard, clause 4"\nmark = "seen"\n[limit]\nplus_ev = 0.3\n'
    assert without_source(tomllib.loads(good), "t") == []
    assert without_source(tomllib.loads(good.replace("seen", "certain")), "t") == ["t", "t.limit"]
    assert without_source(tomllib.loads("[[limit]]\nplus_ev = 0.3\n"), "t") == ["t.limit[0]"]


# --- pins -----------------------------------------------------------------------------------------

PIN = re.compile(r"([A-Za-z0-9][A-Za-z0-9._-]*)==([A-Za-z0-9][A-Za-z0-9.!+_-]*)")


def pins() -> dict[str, str]:
    lines = (ROOT / "constraints.txt").read_text("utf-8").splitlines()
    found = [PIN.fullmatch(line) for line in lines if line and not line.startswith("#")]
    assert all(found), "a line of constraints.txt is no plain name==version"
    return {canonicalize_name(pin[1]): pin[2] for pin in found if pin}


def wishes() -> list[Requirement]:
    project = PYPROJECT["project"]
    optional = [wish for group in project.get("optional-dependencies", {}).values() for wish in group]
    named = [*PYPROJECT["build-system"]["requires"], *project["dependencies"], *optional]
    return [Requirement(wish) for wish in [*named, *PYPROJECT["dependency-groups"]["dev"]]]


def test_pins_hold_names_and_versions_only():
    assert len(pins()) > 30


@pytest.mark.parametrize("wish", wishes(), ids=lambda wish: wish.name)
def test_whatever_the_project_asks_for_is_pinned_within_its_range(wish):
    assert wish.specifier.contains(pins()[canonicalize_name(wish.name)])


def test_the_tools_that_install_are_pinned_too():
    assert {"pip", "setuptools"} <= pins().keys()


def imported(folder: Path) -> set[str]:
    """The distributions that the files of a folder import, by the names of their first modules."""
    known = packages_distributions()
    nodes = [node for path in modules(folder) for node in ast.walk(ast.parse(path.read_text("utf-8")))]
    names = {alias.name for node in nodes if isinstance(node, ast.Import) for alias in node.names}
    names |= {
        node.module for node in nodes if isinstance(node, ast.ImportFrom) and node.module and not node.level
    }
    first = {name.partition(".")[0] for name in names} - {"pegwood"}
    return {canonicalize_name(known[name][0]) for name in first if name in known}


def test_whatever_is_imported_is_asked_for():
    optional = [wish for group in PYPROJECT["project"]["optional-dependencies"].values() for wish in group]
    wished = [*PYPROJECT["project"]["dependencies"], *optional]
    asked = {canonicalize_name(Requirement(wish).name) for wish in wished}
    assert imported(PACKAGE) - asked == set()
    asked |= {canonicalize_name(Requirement(wish).name) for wish in PYPROJECT["dependency-groups"]["dev"]}
    assert (imported(ROOT / "tests") | imported(ROOT / "benchmarks")) - asked == set()


@pytest.mark.slow
def test_this_environment_is_the_pinned_one():
    command = [sys.executable, "-m", "pip", "freeze", "--all", "--exclude", "pegwood"]
    frozen = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    here = {canonicalize_name(pin[1]): pin[2] for line in frozen.splitlines() if (pin := PIN.fullmatch(line))}
    assert {name: version for name, version in here.items() if pins().get(name) != version} == {}


# --- what no file may hold ------------------------------------------------------------------------

# Put together from halves, so that this file does not hold what it looks for.
REGISTRIES = [
    "py" + "pi.org",
    "python" + "hosted",
    "registry.npm" + "js",
    "npm" + "js.org",
    "deb.deb" + "ian.org",
]
REGISTRIES += ["/sim" + "ple/", "index" + "-url", "conda." + "anaconda", "crates" + ".io"]
MACHINE_PATH = re.compile(r"(?<![\w.])/(?:home|root|Users)/[\w.-]+|(?<![\w.])/\S*/\.venv\b|\b[A-Z]:\\Users\\")
LOCKS = {
    "uv.lock",
    "poetry.lock",
    "Pipfile.lock",
    "pdm.lock",
    "package-lock.json",
    "yarn.lock",
    "pylock.toml",
}


def test_no_file_holds_the_address_of_a_package_registry():
    hits = [f"{name}: {word}" for name, text in texts() for word in REGISTRIES if word in text.lower()]
    assert hits == []


def test_no_file_holds_a_path_of_somebodys_machine():
    hits = [f"{name}: {hit[0]}" for name, text in texts() if (hit := MACHINE_PATH.search(text))]
    assert hits == []


def test_no_lock_file_and_nothing_that_setting_up_made_is_in_git():
    names = [path.relative_to(ROOT) for path in tracked()]
    assert [
        str(name) for name in names if name.name in LOCKS or {".venv", "node_modules"} & {*name.parts}
    ] == []


def test_no_page_loads_anything_from_another_host():
    kinds = (".html", ".css", ".js", ".svg")
    loads = re.compile(r"""(?:src|href|url|@import)\s*[=(]?\s*["']?(?:https?:)?//(?!localhost|127\.)""")
    hits = [
        name
        for name, text in texts()
        if name.startswith("src/") and name.endswith(kinds) and loads.search(text)
    ]
    assert hits == []


# --- what the papers of the house promise ---------------------------------------------------------


def page(name: str) -> str:
    return (ROOT / name).read_text("utf-8")


def test_readme_has_two_single_line_commands_and_run_py_knows_them():
    blocks = re.findall(r"```\w*\n(.*?)```", page("README.md"), re.DOTALL)
    commands = [line for block in blocks for line in block.splitlines() if line.startswith("python3 run.py ")]
    assert commands[:2] == ["python3 run.py demo", "python3 run.py test"]
    for command in commands:
        help_text = subprocess.run(
            [sys.executable, ROOT / "run.py", "-h"], capture_output=True, text=True, check=True
        )
        assert f"run.py {command.split()[2]}" in help_text.stdout


def test_ci_runs_readmes_test_command_as_it_stands_there():
    assert page(".ci/run").rstrip().splitlines()[-1] == "python3 run.py test"
    assert os.access(ROOT / ".ci/run", os.X_OK)


def test_the_changelog_knows_this_version():
    assert re.search(rf"^## {re.escape(pegwood.__version__)}\b", page("CHANGELOG.md"), re.MULTILINE)


def test_links_between_the_pages_lead_somewhere():
    dead = []
    for path in [*ROOT.glob("*.md"), *ROOT.glob("docs/**/*.md")]:
        for link in re.findall(r"\]\(([^)#\s]+)[^)]*\)", path.read_text("utf-8")):
            if "://" not in link and not (path.parent / link).exists():
                dead.append(f"{path.name}: {link}")
    assert dead == []


def commands(command: click.Command, path: str = "pegwood") -> list[str]:
    """A line of a table for every command that does something, from what the command says of itself."""
    if isinstance(command, click.Group):
        context = click.Context(command)
        inside = [(name, command.get_command(context, name)) for name in command.list_commands(context)]
        return [line for name, one in inside if one for line in commands(one, f"{path} {name}")]
    example = (command.epilog or "").removeprefix("Example:").strip()
    says = command.get_short_help_str(200).rstrip(".").replace("|", "\\|")
    return [f"| `{path}` | {says} | `{' '.join(example.split())}` |"]


def test_the_page_of_commands_says_what_the_commands_say_of_themselves():
    lines = [line for line in page("docs/command.md").splitlines() if line.startswith("| `pegwood")]
    assert lines == commands(pegwood_command)


def settings_lines() -> list[str]:
    """A line of a table for every setting, from what it says of itself."""
    from pegwood.book.workshop import Workshop, says, settings

    unset = Workshop()
    defaults = {name: getattr(unset, name) for name in settings()}
    return [
        f"| `{name}` | {default if default not in ('', [], {}) else '–'} | {says(name)} |"
        for name, default in defaults.items()
    ]


def limits_lines() -> list[str]:
    """A line of a table for every limit of the other instruments, from the registry."""
    from pegwood.book.gauging.limits import LIMITS

    return [
        f"| {limit.words} | `{key}` | {limit.in_words(limit.default())} |" for key, limit in LIMITS.items()
    ]


def test_the_page_of_commands_tells_every_limit_and_its_default():
    from pegwood.book.gauging.limits import LIMITS

    lines = page("docs/command.md").splitlines()
    assert [line for line in lines if any(f"| `{key}` |" in line for key in LIMITS)] == limits_lines()


def test_the_page_of_commands_says_what_the_settings_say_of_themselves():
    lines = [line for line in page("docs/command.md").splitlines() if line.startswith("| `")]
    assert [line for line in lines if not line.startswith("| `pegwood")] == settings_lines()


# --- nothing is left out in CI --------------------------------------------------------------------

ONLY_THE_HOOKS = """
import importlib.util
spec = importlib.util.spec_from_file_location("house", {conftest!r})
house = importlib.util.module_from_spec(spec)
spec.loader.exec_module(house)
pytest_runtest_makereport = house.pytest_runtest_makereport
pytest_make_collect_report = house.pytest_make_collect_report
"""


@pytest.mark.parametrize(
    ("body", "ci", "outcome"),
    [
        ("import pytest\ndef test(): pytest.skip('no browser')", "true", 1),
        ("import pytest\ndef test(): pytest.skip('no browser')", "", 0),
        ("import pytest\n@pytest.mark.skip\ndef test(): pass", "true", 1),
        ("import pytest\npytest.importorskip('no_such_module')\ndef test(): pass", "true", 2),
        ("def test(): pass", "true", 0),
    ],
)
def test_a_skipped_test_fails_in_ci(tmp_path, body, ci, outcome):
    (tmp_path / "test_one.py").write_text(body + "\n")
    (tmp_path / "pytest.ini").write_text("[pytest]\n")
    (tmp_path / "conftest.py").write_text(ONLY_THE_HOOKS.format(conftest=str(ROOT / "tests/conftest.py")))
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:django", "-p", "no:cacheprovider", tmp_path]
    done = subprocess.run(
        command, cwd=tmp_path, env={**os.environ, "CI": ci}, capture_output=True, check=False
    )
    assert done.returncode == outcome, done.stdout.decode()
