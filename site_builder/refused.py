"""Why a site cannot be published; every reason of the builder is one of these, and the served site stays as it was."""


class CannotPublish(Exception):
    """The site cannot be published; the sentence says why."""
