"""Which commands write files, and by which options: read off the commands themselves."""

from gaitgen.commands.app import COMMANDS

# Options that name a file which is read; every other option with a path is one by which files are written.
READ = {
    ("shot", "--map"),
    ("shot", "--path"),
    ("shot", "--edited"),
    ("bake", "--bvh"),
    ("carry", "--map"),
    ("carry", "--from"),
    ("check", "--map"),
    ("check", "--limits"),
    ("check", "--shot"),
}


def options_that_write():
    """Pairs of a command and an option with a path that is not read."""
    found = {
        (name, each.opts[0])
        for name, command in COMMANDS.commands.items()
        for each in command.params
        if each.metavar == "PATH"
    }
    assert found >= READ
    return found - READ


def commands_that_write():
    return {name for name, _ in options_that_write()}
