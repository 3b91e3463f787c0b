"""What a phone fetches goes over the line compressed: a day's entries shrink to less than a third.

Only here. A desk's page, opened by a cookie, holds a form's token beside words that another site may have put into its
address: from the length of such a page, compressed, both could be guessed. A phone proves itself by a token in a
header, which no other site can have it send, and nothing of a request comes back in an answer.
"""

import gzip

from flask import Response, request

LEAST_BYTES = 1024  # below this a packet more or less is all there is to win
LEVEL = 6


def smaller(response: Response) -> Response:
    """This answer as it goes over the line."""
    response.vary.add("Accept-Encoding")
    if request.accept_encodings["gzip"] and response.status_code == 200 and response.is_json:
        said = response.get_data()
        if len(said) >= LEAST_BYTES:
            response.set_data(gzip.compress(said, LEVEL, mtime=0))
            response.headers["Content-Encoding"] = "gzip"
    return response
