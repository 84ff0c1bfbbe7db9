"""The figures of the service, for whoever keeps it running."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from api.documented import AnswerRoute, needs
from api.measures import MEDIA_TYPE
from api.service import service_of

router = APIRouter(include_in_schema=False, route_class=AnswerRoute)


@router.get("/metrics", operation_id="readMetrics", response_model=None, openapi_extra=needs("metrics:read"))
async def read_metrics(request: Request) -> Response:
    """All figures, over all tenants, in the text format of Prometheus."""
    service = service_of(request)
    return Response(service.measures.text(service.models.bytes), media_type=MEDIA_TYPE)
