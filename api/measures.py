"""What is measured, for Prometheus: requests by operation and status, their time, changes, graphs in memory."""

from __future__ import annotations

from prometheus_client import CONTENT_TYPE_LATEST, CollectorRegistry, Counter, Gauge, Histogram, generate_latest

MEDIA_TYPE = CONTENT_TYPE_LATEST
_BUCKETS = (0.001, 0.003, 0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0)


class Measures:
    """The figures of one process, over all tenants."""

    def __init__(self) -> None:
        self._registry = CollectorRegistry()
        self._requests = Counter(
            "halfsplit_requests", "Requests answered", ["operation", "status"], registry=self._registry
        )
        self._seconds = Histogram(
            "halfsplit_request_seconds", "Time from a request to its answer", ["operation"], buckets=_BUCKETS,
            registry=self._registry,
        )
        self._changes = Counter("halfsplit_changes", "Changes committed", ["kind"], registry=self._registry)
        self._graphs = Gauge("halfsplit_graph_bytes", "Compiled graphs kept in memory", registry=self._registry)

    def answered(self, operation: str, status: int, seconds: float) -> None:
        """Count one request."""
        self._requests.labels(operation, str(status)).inc()
        self._seconds.labels(operation).observe(seconds)

    def changed(self, kind: str) -> None:
        """Count one change."""
        self._changes.labels(kind).inc()

    def text(self, graph_bytes: int) -> bytes:
        """All figures in the text format of Prometheus."""
        self._graphs.set(graph_bytes)
        return generate_latest(self._registry)
