"""The root map's training, some of whose files have the same names as files here."""
import importlib.util
import os

FOLDER = os.path.join(os.path.dirname(os.path.abspath(__file__)), "../../roots/training")


def of_panels(name):
    """NAME.py of src/roots/training."""
    spec = importlib.util.spec_from_file_location("panel_" + name, os.path.join(FOLDER, name + ".py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
