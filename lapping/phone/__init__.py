"""The bench on a phone: a local web page over the log; loads Starlette and Jinja2."""
