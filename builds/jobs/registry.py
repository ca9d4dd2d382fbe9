"""Which function does a kind of work."""

FUNCTIONS: dict = {}


def job(kind: str):
    """Mark a function(report, *args) as what does jobs of `kind`.

    `report(done, total, words="")` tells how far it is; what it returns (anything JSON can hold) is kept as the result.
    A ValueError is shown to people as its sentence; any other error as "it broke", with the details in the log.
    """

    def mark(function):
        FUNCTIONS[kind] = function
        return function

    return mark
