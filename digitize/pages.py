"""Templates of the pages that people look at: escaped, and an unknown name in one is an error."""

from functools import cache

import jinja2


@cache
def template(package: str, name: str) -> jinja2.Template:
    """A template that ships in a package.

    Parameters
    ----------
    package : str
        Dotted name.
    name : str
        Of the file.
    """
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader(package, "."),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template(name)
