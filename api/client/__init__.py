"""A typed client of the service, for Python programs and for the service's own command line."""

from api.client.client import Client
from api.client.connection import Refused, Unreachable

__all__ = ["Client", "Refused", "Unreachable"]
