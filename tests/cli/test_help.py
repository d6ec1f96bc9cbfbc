"""The list of commands answers at once, and every command shows how it is used."""

import subprocess
import sys

import click
import pytest

from pegwood.cli.lazy import LazyGroup
from pegwood.cli.root import COMMANDS, main


def every_command(group=main, words=()):
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        yield " ".join([*words, name]), command
        if isinstance(command, click.Group):
            yield from every_command(command, (*words, name))


ALL = dict(every_command())


@pytest.mark.parametrize("name", ALL)
def test_every_command_says_what_it_does_and_gives_an_example(name):
    command = ALL[name]
    assert command.help
    assert (command.epilog or "").startswith("Example: ")
    assert f"pegwood {name.split()[0]}" in command.epilog


@pytest.mark.parametrize("name", COMMANDS)
def test_the_line_in_the_list_is_the_commands_own(name):
    assert ALL[name].help.strip().splitlines()[0] == COMMANDS[name][1]


def test_the_list_shows_every_command():
    assert isinstance(main, LazyGroup)
    shown = main.get_help(click.Context(main, info_name="pegwood"))
    assert all(name in shown and line in shown for name, (_, line) in COMMANDS.items())


def test_nothing_heavy_is_imported_to_show_help():
    # what `--help` loads, asked of a process of its own: neither Django nor numpy may be in it
    code = (
        "import sys\nfrom pegwood.cli import main\n"
        "try: main(['--help'])\nexcept SystemExit: pass\n"
        "heavy = {'django', 'numpy', 'scipy', 'rich', 'GTC'}\n"
        "print('LOADED', sorted({m.split('.')[0] for m in sys.modules} & heavy))"
    )
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert shown.splitlines()[-1] == "LOADED []"


def test_an_unknown_command_is_one_line_and_exit_2(run_alone):
    ended = run_alone("weigh")
    assert ended.returncode == 2
    assert "No such command 'weigh'" in ended.stderr


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_each_shell_gets_its_completion(run, shell):
    assert "_PEGWOOD_COMPLETE" in run("completion", shell).output
