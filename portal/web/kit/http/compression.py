"""Compress HTML, JSON and calendar responses over 500 bytes."""

import zlib

import brotli
from flask import Flask, Response, request

WORTH_IT = 500
# a page full of pictures is worth a millisecond more
LARGE = 30_000
TYPES = {"text/html", "application/json", "text/calendar"}


def init_app(app: Flask) -> None:
    @app.after_request
    def pack(response: Response) -> Response:
        if (
            response.direct_passthrough
            or response.mimetype not in TYPES
            or "Content-Encoding" in response.headers
        ):
            return response
        response.headers.add("Vary", "Accept-Encoding")
        body = response.get_data()
        if len(body) < WORTH_IT:
            return response
        if request.accept_encodings["br"] > 0:
            response.set_data(brotli.compress(body, quality=5 if len(body) > LARGE else 4))
            response.headers["Content-Encoding"] = "br"
        elif request.accept_encodings["gzip"] > 0:
            packer = zlib.compressobj(
                8 if len(body) > LARGE else 7, zlib.DEFLATED, zlib.MAX_WBITS | 16
            )
            response.set_data(packer.compress(body) + packer.flush())
            response.headers["Content-Encoding"] = "gzip"
        return response
