from flask import Flask, Blueprint
blueprint = Blueprint("review", __name__, template_folder="templates", static_folder="static", static_url_path="/review/static")
@blueprint.get("/review")
def queue():
    return "queue"
def init_app(app: Flask) -> None:
    app.register_blueprint(blueprint)
