"""What the subcommands do, apart from reading the command line."""


class Refused(Exception):  # noqa: N818  (an answer to the user, not a fault of the program)
    """An input that was not taken, with the one message to show."""
