"""The web site: the Django project and its apps."""
