"""What each service is sent, in words for the question before anything is sent."""

from layers.gather.boxes import LonLatBox, shown
from layers.gather.services import Service

_MOST_SHOWN = 3


def sends(service: Service, boxes: tuple[LonLatBox, ...]) -> str:
    """The question to a service in words: a box, several, points, or a wider box."""
    if service.layer == "weather":
        from layers.gather.weather import sends as points

        return points(boxes, int(service.limits["most_points"]))
    if service.layer == "frost":
        from layers.gather.frost import search_box

        wide = shown(search_box(boxes, float(service.limits["around_deg"])))
        return f"a wide box: {wide}; then the names of stations in it"
    if len(boxes) == 1:
        return f"a box: {shown(boxes[0])}"
    more = f"; and {len(boxes) - _MOST_SHOWN} more" if len(boxes) > _MOST_SHOWN else ""
    return f"{len(boxes)} boxes: {'; '.join(shown(b) for b in boxes[:_MOST_SHOWN])}{more}"
