"""The mistakes that the core reports to its caller, each with a code and a sentence for a person."""


class CoreError(Exception):
    """Input that cannot be judged: `code` for programs, `message` says what happened and what to do."""

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
