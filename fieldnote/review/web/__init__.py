"""The review in the browser, and the page for taking entries with a phone.

    serve_review(log, hands=lambda ref: Recorder(log, ref, clock=now))

    serve_phone(log, ref, hands=..., ready=lambda invitation: print(invitation.qr))

Both answer only to those who hold a secret made at the start.
"""

from fieldnote.review.web.hand import Hand, Outcome
from fieldnote.review.web.phone import Invitation, serve_phone
from fieldnote.review.web.review_app import review_app
from fieldnote.review.web.serve import serve_review

__all__ = ["Hand", "Invitation", "Outcome", "review_app", "serve_phone", "serve_review"]
