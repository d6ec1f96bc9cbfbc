"""``run.py``: what it decides before it does anything."""

from __future__ import annotations

import importlib.util
import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture
def run():
    """A fresh copy of the module, which is no part of the package."""
    spec = importlib.util.spec_from_file_location("run", ROOT / "run.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def clone(tmp_path):
    """A folder with the three files a set-up is made from."""
    (tmp_path / "src/pegwood").mkdir(parents=True)
    (tmp_path / "pyproject.toml").write_text("[project]\n")
    (tmp_path / "constraints.txt").write_text("click==8.2.1\n")
    (tmp_path / "src/pegwood/__init__.py").write_text('__version__ = "1"\n')
    return tmp_path


def made(run, clone, version=(3, 11, 7), *, for_work=False, **changes):
    """Leave behind what a finished set-up leaves behind."""
    python = run.venv_python(clone / ".venv")
    python.parent.mkdir(parents=True, exist_ok=True)
    python.touch()
    (clone / ".venv/pyvenv.cfg").touch()
    stamp = run.Stamp(clone / ".venv")
    stamp.write({"state": "done", **run.wanted_from(clone, version), "for_work": for_work, **changes})
    return stamp


def verdict(run, stamp, clone, version=(3, 11, 7), *, for_work=False):
    return stamp.verdict(run.wanted_from(clone, version), for_work)


# --- which Python ---------------------------------------------------------------------------------


@pytest.mark.parametrize("version", [(3, 10, 13), (3, 6, 15), (2, 7, 18)])
def test_an_older_python_is_refused_in_one_line_that_says_what_is_needed(run, version):
    line = run.refusal_of(version)
    assert "3.11 or newer" in line
    assert "{}.{}".format(*version) in line
    assert "\n" not in line


@pytest.mark.parametrize("version", [(3, 11, 0), (3, 14, 2), (4, 0, 0)])
def test_a_python_that_is_new_enough_is_taken(run, version):
    assert run.refusal_of(version) is None


def test_the_oldest_python_is_the_one_the_package_asks_for(run):
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    assert project["requires-python"] == ">={}.{}".format(*run.OLDEST)


# --- what there is to do --------------------------------------------------------------------------


def test_an_empty_folder_is_set_up(run, clone):
    assert verdict(run, run.Stamp(clone / ".venv"), clone) == "make"


def test_a_finished_set_up_is_left_alone(run, clone):
    assert verdict(run, made(run, clone), clone) == "nothing"


def test_a_set_up_for_work_serves_the_demo_too_but_not_the_other_way_round(run, clone):
    assert verdict(run, made(run, clone, for_work=True), clone, for_work=False) == "nothing"
    assert verdict(run, made(run, clone, for_work=False), clone, for_work=True) == "update"


@pytest.mark.parametrize("name", ["pyproject.toml", "constraints.txt", "src/pegwood/__init__.py"])
def test_a_changed_file_that_says_what_is_installed_brings_it_up_to_date(run, clone, name):
    stamp = made(run, clone)
    with (clone / name).open("a") as file:
        file.write("# one more line\n")
    assert verdict(run, stamp, clone) == "update"


def test_another_python_makes_it_again(run, clone):
    assert verdict(run, made(run, clone, (3, 11, 7)), clone, (3, 12, 1)) == "remake"


def test_a_folder_that_was_moved_is_made_again(run, clone):
    stamp = made(run, clone)
    moved = clone.rename(clone.with_name("moved"))
    assert verdict(run, run.Stamp(moved / ".venv"), moved) == "remake"
    assert stamp.read() == {}


def test_a_set_up_that_was_killed_is_made_again(run, clone):
    assert verdict(run, made(run, clone, state="started"), clone) == "remake"


def test_a_set_up_that_was_killed_before_its_first_step_is_made_again(run, clone):
    (clone / ".venv").mkdir()
    assert verdict(run, run.Stamp(clone / ".venv"), clone) == "remake"


def test_an_environment_whose_python_went_away_is_made_again(run, clone):
    stamp = made(run, clone)
    run.venv_python(clone / ".venv").unlink()
    assert verdict(run, stamp, clone) == "remake"


@pytest.fixture
def by_hand(run, clone):
    """An environment somebody made without run.py, with the Python that is running."""
    python = run.venv_python(clone / ".venv")
    python.parent.mkdir(parents=True)
    python.touch()
    (clone / ".venv/pyvenv.cfg").write_text(
        "home = /usr/bin\nversion = {}.{}.{}\n".format(*sys.version_info[:3])
    )
    return run.Stamp(clone / ".venv")


def test_an_environment_made_by_hand_is_brought_up_to_date(run, clone, by_hand):
    assert verdict(run, by_hand, clone) == "update"


def test_an_environment_made_by_hand_is_not_thrown_away_for_being_half_finished(run, clone, by_hand):
    by_hand.write({"state": "started", "by_hand": True})
    assert verdict(run, by_hand, clone) == "update"


@pytest.mark.parametrize(
    "text", ["version = 3.9.2\n", "version_info = 3.9.2.final.0\n", "", "version = new\n"]
)
def test_an_environment_made_by_hand_with_another_python_is_not_touched(run, clone, by_hand, text):
    (clone / ".venv/pyvenv.cfg").write_text(text)
    assert verdict(run, by_hand, clone) == "foreign"


@pytest.mark.parametrize("text", ["", "{", "[]", '"done"', "\0"])
def test_a_spoilt_note_counts_as_none(run, clone, text):
    stamp = made(run, clone)
    stamp.path.write_text(text)
    assert stamp.read() == {}


def test_the_note_is_replaced_whole(run, clone):
    stamp = made(run, clone)
    stamp.write({"state": "started"})
    assert json.loads(stamp.path.read_text()) == {"state": "started"}
    assert not list(stamp.path.parent.glob("*.new"))


# --- the browser ----------------------------------------------------------------------------------


def program(folder, name):
    path = folder / name
    path.write_text("#!/bin/sh\n")
    path.chmod(0o755)
    return str(path)


def test_the_browser_somebody_names_comes_before_the_ones_found(run, tmp_path, monkeypatch):
    program(tmp_path, "chromium")
    mine = program(tmp_path, "mine")
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setenv("PEGWOOD_CHROMIUM", mine)
    assert run.find_browser() == mine


def test_a_named_browser_that_is_not_there_is_said(run, tmp_path, monkeypatch):
    monkeypatch.setenv("PEGWOOD_CHROMIUM", str(tmp_path / "gone"))
    with pytest.raises(run.Trouble, match="there is no such program"):
        run.find_browser()


def test_a_browser_is_found_under_any_of_its_names(run, tmp_path, monkeypatch):
    found = program(tmp_path, "google-chrome")
    monkeypatch.delenv("PEGWOOD_CHROMIUM", raising=False)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert run.find_browser() == found


@pytest.fixture
def bare(run, monkeypatch):
    """A machine without a browser and without what steers it, whose user may not install anything."""
    there = {}
    monkeypatch.setattr(run, "find_browser", lambda: there.get("chromium"))
    monkeypatch.setattr(run, "driver_works", lambda: "libatomic1" in there)
    monkeypatch.setattr(run, "on_debian_as_root", lambda: False)
    monkeypatch.setattr(
        run, "apt_install", lambda packages, what: there.update({what: f"{packages[0]} installed"})
    )
    monkeypatch.delenv("CI", raising=False)
    return there


def test_without_a_browser_a_person_is_told_what_to_install(run, bare):
    assert run.browser_for_tests() == (None, ["chromium", "libatomic1"])
    bare["chromium"] = "here"
    assert run.browser_for_tests() == (None, ["libatomic1"])


def test_without_a_browser_ci_fails(run, bare, monkeypatch):
    monkeypatch.setenv("CI", "true")
    with pytest.raises(run.Trouble, match="Install chromium libatomic1"):
        run.browser_for_tests()


def test_root_on_debian_has_what_lacks_installed(run, bare, monkeypatch):
    monkeypatch.setattr(run, "on_debian_as_root", lambda: True)
    assert run.browser_for_tests() == ("chromium installed", [])


# --- the recording of a camera ----------------------------------------------------------------------


@pytest.fixture
def silent(run, tmp_path, monkeypatch):
    """A machine without Debian's sounds, whose user may not install anything."""
    monkeypatch.setattr(run, "REAL_SOUND", str(tmp_path / "camera.oga"))
    monkeypatch.setattr(run, "on_debian_as_root", lambda: False)
    monkeypatch.delenv("CI", raising=False)
    return tmp_path / "camera.oga"


def test_without_the_recording_its_tests_are_left_out(run, silent):
    assert run.sound_for_tests() is False


def test_without_the_recording_ci_fails_and_says_what_to_install(run, silent, monkeypatch):
    monkeypatch.setenv("CI", "true")
    with pytest.raises(run.Trouble, match="Install sound-theme-freedesktop"):
        run.sound_for_tests()


def test_root_on_debian_has_the_recording_installed(run, silent, monkeypatch):
    monkeypatch.setattr(run, "on_debian_as_root", lambda: True)
    monkeypatch.setattr(run, "apt_install", lambda *_: silent.touch())
    assert run.sound_for_tests() is True


# --- voices -----------------------------------------------------------------------------------------


@pytest.fixture
def mute(run, monkeypatch):
    """A machine without espeak-ng, whose user may not install anything; gives what lies on its path."""
    there: dict[str, str] = {}
    monkeypatch.setattr(run.shutil, "which", there.get)
    monkeypatch.setattr(run, "on_debian_as_root", lambda: False)
    monkeypatch.delenv("CI", raising=False)
    return there


def test_without_voices_the_tests_that_hear_them_are_left_out(run, mute):
    assert run.voices_for_tests() is False


def test_without_voices_ci_fails_and_says_what_to_install(run, mute, monkeypatch):
    monkeypatch.setenv("CI", "true")
    with pytest.raises(run.Trouble, match="Install espeak-ng"):
        run.voices_for_tests()


def test_root_on_debian_has_voices_installed(run, mute, monkeypatch):
    monkeypatch.setattr(run, "on_debian_as_root", lambda: True)
    monkeypatch.setattr(run, "apt_install", lambda *_: mute.update({"espeak-ng": "/usr/bin/espeak-ng"}))
    assert run.voices_for_tests() is True


# --- a Python that cannot make environments -------------------------------------------------------


def test_without_venv_a_person_is_told_what_to_install(run, monkeypatch):
    monkeypatch.setattr(run.importlib.util, "find_spec", lambda _: None)
    monkeypatch.setattr(run, "on_debian_as_root", lambda: False)
    with pytest.raises(run.Trouble, match=r"sudo apt install python3\.\d+-venv"):
        run.need_venv_module()


def test_without_venv_root_on_debian_has_it_installed(run, monkeypatch):
    there, asked = set(), []

    def apt_install(packages, what):
        asked.extend(packages)
        there.update({"venv", "ensurepip"})

    monkeypatch.setattr(run.importlib.util, "find_spec", lambda name: name in there)
    monkeypatch.setattr(run, "on_debian_as_root", lambda: True)
    monkeypatch.setattr(run, "apt_install", apt_install)
    run.need_venv_module()
    assert asked == ["python{}.{}-venv".format(*sys.version_info[:2])]


# --- at the prompt --------------------------------------------------------------------------------


def at_the_prompt(*arguments):
    return subprocess.run(
        [sys.executable, ROOT / "run.py", *arguments], capture_output=True, text=True, check=False
    )


def test_without_a_verb_it_says_what_there_is():
    done = at_the_prompt()
    assert done.returncode == 2
    for verb in ("demo", "test", "setup"):
        assert f"run.py {verb}" in done.stdout


def test_help_is_no_error():
    assert at_the_prompt("--help").returncode == 0


def test_setup_takes_nothing_more():
    done = at_the_prompt("setup", "everything")
    assert done.returncode == 1
    assert done.stderr.strip() == "run.py: setup takes nothing more, not 'everything'."


def test_a_failing_step_shows_its_last_words_and_where_the_rest_is(run, tmp_path, capsys):
    log = tmp_path / "log"
    command = [sys.executable, "-c", "print('first'); print('no such version'); raise SystemExit(3)"]
    with pytest.raises(run.Trouble, match="Could not install"):
        run.run_quietly(command, log, "Could not install it")
    assert "no such version" in capsys.readouterr().out
    assert "first" in log.read_text()


def test_two_set_ups_wait_for_each_other(tmp_path):
    script = tmp_path / "run.py"
    script.write_text((ROOT / "run.py").read_text())
    code = (
        "import importlib.util, sys, time\n"
        "s = importlib.util.spec_from_file_location('run', sys.argv[1])\n"
        "m = importlib.util.module_from_spec(s); s.loader.exec_module(m)\n"
        "with m.one_at_a_time():\n"
        "    print('in', flush=True); sys.stdin.readline()\n"
    )
    command = [sys.executable, "-c", code, script]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    with subprocess.Popen(command, **pipes) as first:
        assert first.stdout.readline() == "in\n"
        with subprocess.Popen(command, **pipes) as second:
            assert second.stdout.readline().startswith("Another set-up is at work")
            first.communicate("go on\n", timeout=20)
            assert second.stdout.readline() == "in\n"
            second.communicate("go on\n", timeout=20)
    assert (first.returncode, second.returncode) == (0, 0)
