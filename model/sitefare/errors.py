"""The few kinds of failure Sitefare raises; each message is one plain sentence."""


class SitefareError(ValueError):
    """Anything Sitefare refuses; the command line prints it and exits non-zero."""


class AssumptionError(SitefareError):
    """An assumption file, row or override that cannot be used as it stands."""


class DesignError(SitefareError):
    """A farm that cannot be built or run safely as asked."""


class RunError(SitefareError):
    """A notebook, document or batch run that could not be completed."""
