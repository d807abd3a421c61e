"""Staff, roles and sign-in; ``permissions.py`` holds every role rule."""
