"""Do the tests bite? Small changes are made to the rule modules, one at a time, and the tests must notice each."""
