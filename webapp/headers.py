"""The security headers that every response carries, and which answers a browser may keep."""

from flask import Flask, Response, request

from webapp.accounts import allowed

# Nothing is allowed but what is named: no inline script or style anywhere, nothing from other sites, no frames.
_OWN = {
    "default-src": "'none'",
    "script-src": "'self'",
    "style-src": "'self'",
    "img-src": "'self'",
    "media-src": "'self'",
    "font-src": "'self'",
    "connect-src": "'self'",
    "form-action": "'self'",
    "base-uri": "'none'",
    "object-src": "'none'",
    "frame-ancestors": "'none'",
}
# The rule engine on the phone is WebAssembly in a worker, which takes the policy of its own script's response.
_PHONE = _OWN | {
    "script-src": "'self' 'wasm-unsafe-eval'",
    "img-src": "'self' blob:",
    "media-src": "'self' blob:",
    "worker-src": "'self'",
    "manifest-src": "'self'",
}

ALWAYS = {
    "X-Content-Type-Options": "nosniff",
    # Not no-referrer: over https Flask-WTF takes a form only with a same-origin referrer.
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
# Clips are recorded on the phone's page alone.
LISTENING = ALWAYS["Permissions-Policy"].replace("microphone=()", "microphone=(self)")


def policy(parts: dict[str, str]) -> str:
    """A content security policy as the header writes it."""
    return "; ".join(f"{name} {value}" for name, value in parts.items())


DESK_POLICY = policy(_OWN)
PHONE_POLICY = policy(_PHONE)


def init_app(app: Flask) -> None:
    """Add the headers to every response, errors included. A view may set a stricter policy itself."""

    @app.after_request
    def add(response: Response) -> Response:
        on_phone = request.blueprint == "phone"
        response.headers.setdefault("Content-Security-Policy", PHONE_POLICY if on_phone else DESK_POLICY)
        if on_phone:
            response.headers.setdefault("Permissions-Policy", LISTENING)
        for name, value in ALWAYS.items():
            response.headers.setdefault(name, value)
        if _may_be_kept():
            response.headers.setdefault("Cache-Control", "no-store")
        else:
            response.headers["Cache-Control"] = "no-store"
        return response


def _may_be_kept() -> bool:
    """The phone's app and styles may stay in the browser; what only some may open may not, nor may errors."""
    door = allowed.door(request.endpoint) if request.endpoint else None
    return door is not None and door.to == allowed.EVERYONE
