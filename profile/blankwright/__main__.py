"""Every line starts here, as a module or as the command: a key that stops it is heard before anything is loaded."""

import os
import signal


def _stop(*_: object) -> None:
    """End at once: nothing of a command runs, so nothing needs to be unwound."""
    os.write(2, b"blankwright: stopped\n")
    os._exit(130)


def main() -> None:
    """Run the command line."""
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:  # ignored where a shell starts us behind
        signal.signal(signal.SIGINT, _stop)
    from blankwright.commands.cli import main as run  # noqa: PLC0415 - loading it takes as long as many a run

    run()


if __name__ == "__main__":
    main()
