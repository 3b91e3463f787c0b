"""The server of the bench beside a peer: the whole application, with the bench's page in the phone app's place."""

import os

from flask import Flask

from webapp import served

BUILD = "GELSIDE_BENCH_BUILD"  # the folder of that page


def app() -> Flask:
    return served({"PHONE_BUILD": os.environ[BUILD]})
