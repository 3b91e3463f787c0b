"""The mistakes that the core reports to its caller, each with a code and a sentence for a person."""


class CoreError(Exception):
    """Input that cannot be judged: `code` for programs, `message` says what happened and what to do."""

    def __init__(self, code: str, message: str) -> None:
        # One line whatever was typed: the message is printed, logged and shown on a small screen.
        line = " ".join(message.split())
        super().__init__(line)
        self.code = code
        self.message = line
