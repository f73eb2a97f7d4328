"""The HTTP API: an extra, ``pip install 'caddiebrain[service]'``; started by ``caddiebrain serve``."""

from caddiebrain.service.settings import ServiceSettings

__all__ = ["ServiceSettings"]
