"""What the invented maker says of its models, as a settings file."""

from synthetic_data.scenario import MAKERS_VALUES, MODELS

HEAD = "# Values of the invented maker, for the limits of readings.\n"


def settings_text() -> str:
    """Return the settings of every model, as TOML."""
    values = "".join(f"{name} = {value}\n" for name, value in MAKERS_VALUES.items())
    return HEAD + "".join(f'\n[models."{model.name}"]\n{values}' for model in MODELS)
