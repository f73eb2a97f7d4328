"""Hypothesis strategies from the fields of a pydantic model: its types, ranges and lengths."""

import types
from enum import Enum
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt, MaxLen, MinLen
from hypothesis import strategies as st
from pydantic import BaseModel

Strategy = st.SearchStrategy[Any]


def records_of(model: type[BaseModel]) -> Strategy:
    """Records of a model whose fields do not restrict one another."""
    fields = {name: values_of(f.annotation, f.metadata) for name, f in model.model_fields.items()}
    return st.fixed_dictionaries(fields).map(lambda given: model.model_validate(given, by_name=True))


def values_of(kind: Any, limits: list[Any]) -> Strategy:
    """Values of one annotation within its limits."""
    origin, inner = get_origin(kind), get_args(kind)
    if origin is Annotated:
        return values_of(inner[0], [*kind.__metadata__, *limits])
    if origin is Literal:
        return st.sampled_from(inner)
    if origin in (Union, types.UnionType):
        return st.one_of([values_of(one, limits) for one in inner])
    if origin is tuple and inner[-1] is not Ellipsis:
        return st.tuples(*(values_of(one, []) for one in inner))
    least, most = _bound(limits, MinLen, "min_length", 0), _bound(limits, MaxLen, "max_length", 3)
    if origin is tuple:
        return st.lists(values_of(inner[0], []), min_size=least, max_size=max(least, most)).map(tuple)
    if origin is dict:
        return st.dictionaries(values_of(inner[0], []), values_of(inner[1], []), max_size=2)
    return _plain(kind, limits)


def _plain(kind: Any, limits: list[Any]) -> Strategy:
    if kind is type(None):
        return st.none()
    if kind is bool:
        return st.booleans()
    if kind is str:
        return st.text(min_size=_bound(limits, MinLen, "min_length", 0), max_size=12)
    low, high = _bound(limits, Ge, "ge", None), _bound(limits, Le, "le", None)
    above, below = _bound(limits, Gt, "gt", None), _bound(limits, Lt, "lt", None)
    if kind is int:
        return st.integers(low if low is not None else above, high if high is not None else below)
    if kind is float:
        return st.floats(
            low if low is not None else above,
            high if high is not None else below,
            exclude_min=low is None and above is not None,
            exclude_max=high is None and below is not None,
            allow_nan=False,
            allow_infinity=False,
        )
    if issubclass(kind, Enum):
        return st.sampled_from(kind)
    if issubclass(kind, BaseModel):
        return records_of(kind)
    raise TypeError(kind)


def _bound(limits: list[Any], kind: type, name: str, otherwise: Any) -> Any:
    """The limit of one kind; ``Field(ge=..., le=...)`` may hold several in one."""
    for limit in limits:
        if isinstance(limit, kind):
            return getattr(limit, name)
        nested = getattr(limit, "metadata", None)
        if nested:
            found = _bound(list(nested), kind, name, None)
            if found is not None:
                return found
    return otherwise
