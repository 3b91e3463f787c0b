"""Fields of forms that more than one room uses."""

from wtforms import IntegerField


class WholeNumber(IntegerField):
    """A whole number as people write one. What has more digits than any number meant here is none: the library's
    own check of a range fails on a number too large for a float."""

    MOST_DIGITS = 15

    def process_formdata(self, valuelist: list[str]) -> None:
        if valuelist and len(valuelist[0].strip()) > self.MOST_DIGITS:
            self.data = None
            raise ValueError(f"A number of up to {self.MOST_DIGITS} digits.")
        super().process_formdata(valuelist)
