"""The program itself: where it is, and a run of it between two pipes."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
import tempfile
import threading
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

NAME = "witnessmark"


class Failed(RuntimeError):
    """The program could not judge: settings or rules have errors, or it could not be started."""


class Incomplete(RuntimeError):
    """The program ended, and what it wrote is not whole: no result after this one may be taken as given."""


def find_program() -> Path:
    """The program that was installed with this package; without one, that of the search path."""
    name = NAME + (sysconfig.get_config_var("EXE") or "")
    here = Path(__file__).resolve().parent
    user = sysconfig.get_path("scripts", sysconfig.get_preferred_scheme("user"))
    folders = [sysconfig.get_path("scripts"), user, str(here.parent / "bin")]
    for folder in folders:
        path = Path(folder) / name
        if path.is_file():
            return path
    found = shutil.which(name)
    if found is None:
        raise Failed(f"the program {NAME} is in none of {', '.join(folders)}; install the wheel of this package again")
    return Path(found)


class _Feeder(threading.Thread):
    """Writes into the program what it is to read. What goes wrong with that is kept for whoever reads the results."""

    def __init__(self, parts: Iterable[bytes], process: subprocess.Popen[bytes]) -> None:
        super().__init__(daemon=True)
        self.parts = parts
        self.process = process
        self.error: BaseException | None = None

    def run(self) -> None:
        pipe = self.process.stdin
        assert pipe is not None
        try:
            for part in self.parts:
                pipe.write(part)
                # A record that is sent alone is answered alone.
                pipe.flush()
        except BrokenPipeError:
            pass  # The program has ended; how is told by its exit code.
        except BaseException as error:  # noqa: BLE001 - raised again by whoever reads
            self.error = error
            self.process.kill()
        finally:
            try:
                pipe.close()
            except BrokenPipeError:
                pass


def run(arguments: Sequence[str], parts: Iterable[bytes]) -> Iterator[bytes]:
    """The lines that the program writes while it reads these parts.

    Raises what the parts raise. The exit code is left to the lines, which say more, but for an end by a signal.
    """
    program = find_program()
    with tempfile.TemporaryFile() as said:
        try:
            process = subprocess.Popen(
                [os.fspath(program), *arguments], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=said
            )
        except OSError as error:
            raise Failed(f"the program {program} cannot be started: {error}") from error
        feeder = _Feeder(parts, process)
        feeder.start()
        try:
            assert process.stdout is not None
            with process.stdout as out:
                yield from out
            code = process.wait()
        finally:
            # Whoever wants no more results lets the generator go.
            if process.poll() is None:
                process.kill()
                process.wait()
        if feeder.error is not None:
            raise feeder.error
        said.seek(0)
        words = said.read().decode(errors="replace").strip()
        if code not in (0, 1, 2):
            raise Incomplete(f"the program ended with exit code {code}: {words or 'it said nothing'}")
        if words and code == 2:
            raise Failed(words)
        if words:
            print(words, file=sys.stderr)
