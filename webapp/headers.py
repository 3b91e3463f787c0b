"""The security headers that every response carries."""

from flask import Flask, Response, request

_COMMON = "object-src 'none'; base-uri 'none'; frame-ancestors 'none'; form-action 'self'"
DESK_POLICY = f"default-src 'self'; script-src 'self'; {_COMMON}"
# The rule engine on the phone is WebAssembly; its worker takes the policy of its own script's response.
PHONE_POLICY = f"default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; {_COMMON}"

ALWAYS = {
    "X-Content-Type-Options": "nosniff",
    # Not no-referrer: over https Flask-WTF takes a form only with a same-origin referrer.
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
    "Cross-Origin-Opener-Policy": "same-origin",
}


def init_app(app: Flask) -> None:
    """Add the headers to every response, errors included. A view may set a stricter policy itself."""

    @app.after_request
    def add(response: Response) -> Response:
        policy = PHONE_POLICY if request.blueprint == "phone" else DESK_POLICY
        response.headers.setdefault("Content-Security-Policy", policy)
        for name, value in ALWAYS.items():
            response.headers.setdefault(name, value)
        return response
