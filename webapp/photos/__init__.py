"""Photos and clips: by content hash, resumable, verified, beside the text and never in its way."""

from webapp.photos.routes import api, init_app

__all__ = ["api", "init_app"]
