"""An ordinary route that reads the same body as `POST /v1/advice` and does nothing: the yardstick."""

from __future__ import annotations

from fastapi import FastAPI
from pydantic import ConfigDict

from schemas.requests import AdviceForEquipment


class Asked(AdviceForEquipment):
    """The body, its checks made when the route is declared, as is usual."""

    model_config = ConfigDict(defer_build=False)


def add_empty(app: FastAPI) -> None:
    """Let the application answer `POST /empty`."""

    @app.post("/empty")
    async def empty(body: Asked) -> dict[str, str]:
        return {"equipment": body.equipment}
