"""The tables of a new database, made with one look at all models."""

from django.db.migrations import SeparateDatabaseAndState


class CreateModels(SeparateDatabaseAndState):
    """Creates all tables of an app in one go.

    Each operation of a migration draws every model anew that has to do with the one it changes, which is nearly all of
    them: with seventy models that takes longer than to make the tables. Here they are drawn once, when all are known.
    """

    def __init__(self, models):
        super().__init__(database_operations=models, state_operations=models)

    def deconstruct(self):
        return self.__class__.__name__, [self.database_operations], {}

    def state_forwards(self, app_label, state):
        state.__dict__.pop("apps", None)  # drawn again, with the new ones, when it is next asked for
        super().state_forwards(app_label, state)

    def database_forwards(self, app_label, schema_editor, from_state, to_state):
        for model in self.database_operations:
            model.database_forwards(app_label, schema_editor, from_state, to_state)

    def database_backwards(self, app_label, schema_editor, from_state, to_state):
        for model in reversed(self.database_operations):
            model.database_backwards(app_label, schema_editor, from_state, to_state)
