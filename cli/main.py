"""Words on the command line -> one command, with the user's mistakes as messages and exit codes.

Exit codes: 0 done; 1 the data or the study need mending; 2 wrong usage; 3 cannot be answered from
these data; 70 a fault of the tool itself, with a traceback; 130 interrupted.
"""

import gc
import importlib
import os
import sys
import traceback

import click

from shotwindow.cli.console import say, settle_streams
from shotwindow.doe.errors import StudyError, Unanswerable

#: Command -> module of shotwindow.cli that holds it, and its line in the list of commands. The
#: modules are loaded only when their command is called, so that help stays quick.
COMMANDS = {
    "start": ("starting", "Write a commented study.toml to begin with."),
    "plan": ("planning", "Choose the shots and write the run sheet."),
    "rehearse": ("rehearsing", "Shoot the plan on many practice presses first."),
    "sheet": ("sheets", "Make the run sheet to print or to fill in."),
    "record": ("recording", "Take results at the press or from a file."),
    "history": ("recording", "Show every entry ever made."),
    "surfaces": ("analysis", "Show what each setting does to fill and flash."),
    "window": ("analysis", "Map the good shots; give a setpoint with margins."),
    "next": ("deciding", "Add the shots that would sharpen the window most."),
    "confirm": ("deciding", "Plan confirmation shots, and give their verdict."),
    "compare": ("deciding", "Tell where two studies' windows differ."),
    "report": ("analysis", "Write one HTML page with everything."),
    "pictures": ("analysis", "Write every picture as a file of its own."),
    "practice": ("practicing", "Shoot the plan on a simulated press."),
    "demo": ("practicing", "Go the whole way on a shipped example."),
}

FAULT, INTERRUPTED = 70, 130

# The matrices here are small: threads cost them more than they save, and a sum taken in another
# order would no longer give the same bytes. Has to be said before numpy is loaded.
for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")


class Commands(click.Group):
    """The commands, each loaded when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order in which they are used."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Load one command; None for an unknown name."""
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"shotwindow.cli.{COMMANDS[cmd_name][0]}")
        command = getattr(module, cmd_name)
        assert isinstance(command, click.Command)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Guess the typo in an unknown command."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            from shotwindow.doe.errors import guess

            meant = guess(args[0], COMMANDS)
            if meant:
                raise click.UsageError(f"No such command '{args[0]}'. Did you mean '{meant}'?")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without loading them."""
        with formatter.section("Commands, in the order of use"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])


@click.command(
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Try it without a press:  shotwindow demo",
)
@click.version_option(package_name="shotwindow", prog_name="shotwindow")
def shotwindow() -> None:
    """Find and prove the process window of a mold on a small injection press.

    A study is a folder. You describe the mold and the press in its study.toml; every command
    takes the folder and goes one step further: plan the shots, record what came out, see where
    the good shots are, and run from a setpoint that sits far from every edge.
    """


def main(args: list[str] | None = None) -> None:
    """Run the command line and leave with its exit code."""
    settle_streams()
    try:
        code = run(args)
        gc.freeze()  # at its end Python looks through all there is: half a second after a report
        sys.exit(code)
    except BrokenPipeError:  # the reader of a pipe has gone: nothing is left to say
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)


def run(args: list[str] | None = None) -> int:
    """Run one command.

    Returns
    -------
    int
        The exit code.
    """
    try:
        result = shotwindow.main(args=args, standalone_mode=False)
        return result if isinstance(result, int) else 0
    except (StudyError, Unanswerable, click.exceptions.Exit, click.Abort) as ending:
        return _ended(ending)
    except click.ClickException as error:
        error.show()
        return error.exit_code
    except (BrokenPipeError, KeyboardInterrupt, SystemExit):
        raise
    except Exception:
        traceback.print_exc()
        say(
            "This is a fault of shotwindow, not of your data, which are as they were. "
            "Please report it with the lines above.",
            kind="error",
        )
        return FAULT


def _ended(ending: Exception) -> int:
    """Say why a command ended before its time; the exit code."""
    if isinstance(ending, StudyError):
        for problem in ending.problems:
            say(str(problem), kind="error")
        return 1
    if isinstance(ending, Unanswerable):
        say(str(ending), kind="error")
        return 3
    if isinstance(ending, click.exceptions.Exit):
        return ending.exit_code
    say("Interrupted. Everything accepted so far is saved.")
    return INTERRUPTED
