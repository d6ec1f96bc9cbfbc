#!/usr/bin/env python3
"""
Set Pegwood up beside this file, in ``.venv``, and run it or its tests.

    python3 run.py demo     an invented workshop, served to a browser
    python3 run.py test     every test, slow ones and browser ones too
    python3 run.py setup    set up for working on Pegwood, run nothing

Whatever follows is handed on: ``python3 run.py test -k shutter``, ``python3 run.py demo --port 0``.
Nothing but Python's standard library is used here, since nothing else is there yet.
"""

import contextlib
import hashlib
import importlib.util
import json
import os
import platform
import re
import shutil
import subprocess
import sys
import time
from pathlib import Path

OLDEST = (3, 11)


def refusal_of(version):
    """One line for somebody whose Python is too old, or None."""
    if tuple(version[:2]) >= OLDEST:
        return None
    return "Pegwood needs Python {}.{} or newer; this is {}.{} ({}).".format(
        *OLDEST, *version[:2], sys.executable
    )


if refusal_of(sys.version_info):  # before any line an old Python could stumble over
    sys.exit(refusal_of(sys.version_info))

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
BUILD_TOOLS = ["pip", "setuptools"]
BROWSERS = ["chromium", "chromium-browser", "google-chrome-stable", "google-chrome", "chrome"]
BROWSER_PLACES = [
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
]
DEBIAN_BROWSER = ["chromium", "fonts-dejavu-core", "fonts-liberation"]
DEBIAN_DRIVER = ["libatomic1"]
REAL_SOUND = "/usr/share/sounds/freedesktop/stereo/camera-shutter.oga"
DEBIAN_SOUND = ["sound-theme-freedesktop"]
DEBIAN_VOICES = ["espeak-ng"]
ON_ALL_CORES = ["-n", "auto", "--maxprocesses", "4", "--dist", "loadscope", "--no-loadscope-reorder"]


class Trouble(Exception):
    """One line for the person at the keyboard, with what to do."""


def say(text):
    print(text, flush=True)


# --- what a set-up was made from -------------------------------------------------------------------


def fingerprint(*parts):
    """A short text that changes when any of the parts (texts or bytes) changes."""
    digest = hashlib.sha256()
    for part in parts:
        part = part if isinstance(part, bytes) else str(part).encode()
        digest.update(str(len(part)).encode() + b":" + part)
    return digest.hexdigest()[:32]


def wanted_from(root, version):
    """
    What the set-up in a folder has to be made from.

    ``place``: Python, the machine's kind, and the folder, whose path an editable install holds; when it
    changes the environment is made again. ``pins``: the files that say what is installed; when they change
    it is brought up to date.
    """
    pins = ("pyproject.toml", "constraints.txt", "src/pegwood/__init__.py")  # the last holds the version
    return {
        "place": fingerprint(root, sys.platform, platform.machine(), *version[:3]),
        "pins": fingerprint(*((root / name).read_bytes() for name in pins)),
    }


class Stamp:
    """
    The note in ``.venv`` that says how far a set-up came and what it was made from.

    ``started`` is written before anything is installed and ``done`` after everything is. A set-up that was
    killed half-way still says ``started``, and is thrown away and made again.
    """

    def __init__(self, venv):
        self.venv = venv
        self.path = venv / "pegwood-setup.json"

    def read(self):
        try:
            note = json.loads(self.path.read_text("utf-8"))
        except (OSError, ValueError):
            return {}
        return note if isinstance(note, dict) else {}

    def write(self, note):
        self.venv.mkdir(exist_ok=True)
        draft = self.path.with_suffix(".new")
        draft.write_text(json.dumps(note), "utf-8")
        draft.replace(self.path)

    def made_with(self, version):
        """Whether the environment's own note names this Python, and the program is there."""
        noted = (self.venv / "pyvenv.cfg").read_text("utf-8", "replace")
        line = re.search(r"^version(?:_info)? *= *(\d+)\.(\d+)", noted, re.MULTILINE)
        same = line is not None and tuple(map(int, line.groups())) == tuple(version[:2])
        return same and venv_python(self.venv).exists()

    def verdict(self, wanted, for_work):
        """
        What there is to do: ``nothing``, ``update``, ``make``, ``remake``; or ``foreign`` when somebody made
        the environment by hand and with another Python. One made by hand with this Python is brought up to
        date, and never thrown away for being half-finished.
        """
        note = self.read()
        if not (self.venv / "pyvenv.cfg").exists():
            return "remake" if self.venv.exists() else "make"
        if not note or (note.get("by_hand") and note.get("state") != "done"):
            return "update" if self.made_with(sys.version_info) else "foreign"
        if (
            note.get("state") != "done"
            or note.get("place") != wanted["place"]
            or not venv_python(self.venv).exists()
        ):
            return "remake"
        if note.get("pins") != wanted["pins"] or (for_work and not note.get("for_work")):
            return "update"
        return "nothing"


# --- doing it --------------------------------------------------------------------------------------


def venv_python(venv=VENV):
    return venv / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def run_quietly(command, log, trouble):
    """Run with the output in a log; when it fails, its last lines are shown and the trouble is raised."""
    environment = {**os.environ, "PIP_DISABLE_PIP_VERSION_CHECK": "1", "PYTHONUNBUFFERED": "1"}
    with log.open("ab") as out:
        out.write(("\n$ " + " ".join(map(str, command)) + "\n").encode())
        out.flush()
        start = out.tell()
        done = subprocess.run(
            command, stdout=out, stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL, cwd=ROOT, env=environment
        )
    if done.returncode:
        said = log.read_bytes()[start:].decode("utf-8", "replace").strip().splitlines()
        for line in said[-12:]:
            say("    | " + line)
        raise Trouble(f"{trouble} (all it said: {log}).")


def on_debian_as_root():
    if not hasattr(os, "geteuid") or os.geteuid() != 0 or not shutil.which("apt-get"):
        return False
    try:
        return platform.freedesktop_os_release().get("ID") == "debian"
    except OSError:
        return False


def apt_install(packages, what):
    """Debian's own packages, installed without asking anything."""
    say(f"  installing Debian's {what}")
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    install = ["apt-get", "install", "-y", "-q", "--no-install-recommends", *packages]
    said = []
    for command in (["apt-get", "update", "-q"], install):
        done = subprocess.run(
            command,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            stdin=subprocess.DEVNULL,
            env=environment,
        )
        said = done.stdout.decode("utf-8", "replace").splitlines()
    if done.returncode:  # a failed update does not matter when the install then works
        for line in said[-12:]:
            say("    | " + line)
        raise Trouble(f"Could not install {what}. Try by hand: {' '.join(install)}")


def need_venv_module():
    """Debian keeps ``venv`` out of its plain Python."""
    if importlib.util.find_spec("venv") and importlib.util.find_spec("ensurepip"):
        return
    package = "python{}.{}-venv".format(*sys.version_info[:2])
    if on_debian_as_root():
        apt_install([package], package)
        importlib.invalidate_caches()
    if not importlib.util.find_spec("ensurepip"):
        raise Trouble(f"This Python cannot make a virtual environment. On Debian: sudo apt install {package}")


@contextlib.contextmanager
def one_at_a_time():
    """Hold a lock on this file, so that two set-ups in one folder wait for each other."""
    try:
        import fcntl
    except ImportError:  # Windows
        yield
        return
    with Path(__file__).open("rb") as handle:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            say("Another set-up is at work in this folder: waiting for it.")
            fcntl.flock(handle, fcntl.LOCK_EX)
        except OSError:  # a file system without locks
            pass
        yield


def set_up(for_work):
    """
    Bring ``.venv`` to what the pins say; nothing is done when it is there already.

    Parameters
    ----------
    for_work : bool
        Install what the tests and checks need as well.
    """
    with one_at_a_time():
        stamp, wanted = Stamp(VENV), wanted_from(ROOT, sys.version_info)
        verdict = stamp.verdict(wanted, for_work)
        if verdict == "nothing":
            return
        if verdict == "foreign":
            raise Trouble(
                "The .venv here was made by hand and with another Python. Move it away, then try again."
            )
        began = time.monotonic()
        before = stamp.read()
        for_work = bool(for_work or before.get("for_work"))
        if verdict == "remake":
            say("The .venv here is half-finished or from another Python or folder: making it again.")
            (VENV / "pyvenv.cfg").unlink(
                missing_ok=True
            )  # first, so that a half-deleted one is still known as ours
            shutil.rmtree(VENV)
        if verdict == "update":
            say("Bringing .venv up to date.")
        else:
            say("Setting Pegwood up in .venv; the first time takes a minute or more.")
        need_venv_module()
        by_hand = verdict == "update" and bool(not before or before.get("by_hand"))
        stamp.write({"state": "started", "by_hand": by_hand})
        try:
            install(make=verdict != "update", for_work=for_work)
        except Trouble:
            if verdict == "update" and before:  # pip stopped by itself: what worked before is still in place
                stamp.write({**before, "pins": ""})
            raise
        stamp.write({"state": "done", **wanted, "for_work": for_work, "by_hand": by_hand})
        say(f"Set up in {time.monotonic() - began:.0f} s.")


def install(make, for_work):
    """The steps themselves. Only wheels are taken, so that no build tool of another version slips in."""
    log = VENV / "pegwood-setup.log"
    log.unlink(missing_ok=True)
    if make:
        say("  1/3 an environment of its own")
        run_quietly([sys.executable, "-m", "venv", VENV], log, "Could not make a virtual environment here.")
    pip = [venv_python(), "-m", "pip", "--no-input", "install", "--progress-bar", "off"]
    pip += ["--root-user-action", "ignore", "--only-binary", ":all:", "-c", "constraints.txt"]
    retry = "Is the network there? The same command tries again"
    run_quietly([*pip, "--upgrade", *BUILD_TOOLS], log, f"Could not install pip and setuptools. {retry}")
    say("  2/3 what Pegwood stands on, in the versions of constraints.txt")
    what = ["--no-build-isolation", "-e", ".", *(["--group", "dev"] if for_work else [])]
    run_quietly([*pip, *what], log, f"Could not install what Pegwood needs. {retry}")
    say("  3/3 whether it all fits together")
    run_quietly([venv_python(), "-m", "pip", "check"], log, "The installed versions do not fit together")


def find_browser():
    """Path of a Chromium, or None. ``PEGWOOD_CHROMIUM`` comes first, and must exist when it is set."""
    named = os.environ.get("PEGWOOD_CHROMIUM")
    if named:
        found = shutil.which(named)
        if not found:
            raise Trouble(
                f"PEGWOOD_CHROMIUM names {named!r}, and there is no such program. Correct or unset it."
            )
        return found
    on_path = (shutil.which(name) for name in BROWSERS)
    return next(filter(None, (*on_path, *filter(os.path.exists, BROWSER_PLACES))), None)


def driver_works():
    """Whether the program that steers the browser starts; it comes in a wheel but wants a system library."""
    asked = [str(venv_python()), "-m", "playwright", "--version"]
    return not subprocess.run(asked, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL).returncode


def browser_for_tests():
    """
    A Chromium that can be steered; what lacks is installed where that can be done without asking.

    Returns
    -------
    path : str or None
        None when something lacks and nobody insists on it.
    lacking : list of str
        Debian's names for what lacks.
    """
    lacking = []
    for packages, there in ((DEBIAN_BROWSER, find_browser), (DEBIAN_DRIVER, driver_works)):
        if not there() and on_debian_as_root():
            apt_install(packages, packages[0])
        if not there():
            lacking.append(packages[0])
    if lacking and os.environ.get("CI") == "true":
        raise Trouble(
            f"Browser tests cannot run and CI=true, so nothing may be left out. Install {' '.join(lacking)}."
        )
    return None if lacking else find_browser(), lacking


def sound_for_tests():
    """
    Debian's recording of a camera, which the tests of the sound instrument listen to.

    Returns
    -------
    is_there : bool
        False when it lacks and nobody insists on it.
    """
    if not Path(REAL_SOUND).exists() and on_debian_as_root():
        apt_install(DEBIAN_SOUND, DEBIAN_SOUND[0])
    is_there = Path(REAL_SOUND).exists()
    if not is_there and os.environ.get("CI") == "true":
        raise Trouble(
            f"{REAL_SOUND} lacks and CI=true, so nothing may be left out. Install {DEBIAN_SOUND[0]}."
        )
    return is_there


def voices_for_tests():
    """
    Debian's espeak-ng, which speaks to the tests of the spoken commands.

    Returns
    -------
    is_there : bool
        False when it lacks and nobody insists on it.
    """
    if not shutil.which("espeak-ng") and on_debian_as_root():
        apt_install(DEBIAN_VOICES, DEBIAN_VOICES[0])
    is_there = shutil.which("espeak-ng") is not None
    if not is_there and os.environ.get("CI") == "true":
        raise Trouble(f"espeak-ng lacks and CI=true, so nothing may be left out. Install {DEBIAN_VOICES[0]}.")
    return is_there


def hand_over(command, environment=None):
    """Become another program, so that signals and exit codes are its own."""
    environment = {**os.environ, **(environment or {})}
    if os.name != "nt":  # exec there would return to the prompt at once
        os.execve(command[0], command, environment)
    return subprocess.call(command, env=environment)


def demo(arguments):
    set_up(for_work=False)
    return hand_over([str(venv_python()), "-m", "pegwood", "demo", *arguments])


def test(arguments):
    set_up(for_work=True)
    browser, lacking = browser_for_tests()
    if lacking:
        say(f"Browser tests are left out. For them, on Debian: sudo apt install {' '.join(lacking)}")
    has_sound = sound_for_tests()
    if not has_sound:
        say(
            f"Tests of a real recording are left out. For them, on Debian: sudo apt install {DEBIAN_SOUND[0]}"
        )
    has_voices = voices_for_tests()
    if not has_voices:
        say(
            f"Tests that are spoken to are left out. For them, on Debian: sudo apt install {DEBIAN_VOICES[0]}"
        )
    there = {"browser": browser, "real_sound": has_sound, "voices": has_voices}
    left_out = " and ".join(f"not {mark}" for mark, is_there in there.items() if not is_there)
    os.chdir(ROOT)
    command = [str(venv_python()), "-m", "pytest", "-m", left_out, *ON_ALL_CORES, *arguments]
    environment = {"OMP_NUM_THREADS": "1"}  # a process to a core; more threads would only be in the way
    if browser:
        environment["PEGWOOD_CHROMIUM"] = browser
    return hand_over(command, environment)


def setup(arguments):
    if arguments:
        raise Trouble(f"setup takes nothing more, not {arguments[0]!r}.")
    set_up(for_work=True)
    return 0


VERBS = {"demo": demo, "test": test, "setup": setup}


def main(arguments):
    if not arguments or arguments[0] not in VERBS:
        say(__doc__.strip())
        return 0 if arguments[:1] in (["-h"], ["--help"]) else 2
    try:
        return VERBS[arguments[0]](arguments[1:])
    except Trouble as trouble:
        print(f"run.py: {trouble}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("run.py: stopped; the same command goes on from a clean start.", file=sys.stderr)
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
