"""A property that is worked out once for each object."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Generic, TypeVar, overload

if TYPE_CHECKING:
    from collections.abc import Callable

T = TypeVar("T")


class lazy(Generic[T]):  # noqa: N801 - used as a decorator, as the one of functools is
    """Works a value out when it is first asked for, and keeps it in the object.

    That of functools has, up to Python 3.11, one lock for all objects of a class: a request would wait for the plan of
    another garden. Without it two threads may both work a value out; the last one stays.
    """

    def __init__(self, work_out: Callable[[Any], T]) -> None:
        self.func, self._name = work_out, work_out.__name__
        self.__doc__ = work_out.__doc__

    @overload
    def __get__(self, thing: None, owner: type) -> lazy[T]: ...
    @overload
    def __get__(self, thing: object, owner: type) -> T: ...
    def __get__(self, thing: object | None, owner: type) -> lazy[T] | T:
        """Return the value; once it is in the object, this is not asked any more."""
        if thing is None:
            return self
        value = thing.__dict__[self._name] = self.func(thing)
        return value
