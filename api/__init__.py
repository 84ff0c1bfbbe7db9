"""The service: routes, storage, pages and the command line around the core."""
