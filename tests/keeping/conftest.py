"""The practice's commands, for tests of keeping the records."""

import pytest
from flask import Flask
from flask.testing import FlaskCliRunner


@pytest.fixture
def runner(app: Flask) -> FlaskCliRunner:
    return app.test_cli_runner()
