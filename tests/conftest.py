from hypothesis import settings

# The same examples every time, on a busy machine too; a slow run is no failure.
settings.register_profile("crumbcall", deadline=None, derandomize=True, database=None)
settings.load_profile("crumbcall")
