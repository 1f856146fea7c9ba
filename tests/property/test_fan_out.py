"""Answers stand in the order of the tasks, in whatever order they come."""

from __future__ import annotations

import random
from concurrent.futures import Executor, Future
from typing import TYPE_CHECKING, Any

from hypothesis import given
from hypothesis import strategies as st

from matchmaker.ahead.fan_out import fan_out
from tests.fan_tasks import squared

if TYPE_CHECKING:
    from collections.abc import Callable


class Disorderly(Executor):
    """Does nothing until it has all its tasks, then does them in an order of its own."""

    def __init__(self, tasks: int, seed: int) -> None:
        self._tasks = tasks
        self._order = random.Random(seed)  # noqa: S311  no secret
        self._waiting: list[tuple[Future[Any], Callable[[], Any]]] = []

    def submit(
        self,
        fn: Callable[..., Any],
        /,
        *args: Any,
        **kwargs: Any,
    ) -> Future[Any]:
        future: Future[Any] = Future()
        self._waiting.append((future, lambda: fn(*args, **kwargs)))
        if len(self._waiting) == self._tasks:
            self._order.shuffle(self._waiting)
            for waiting, call in self._waiting:
                waiting.set_result(call())
        return future


@given(tasks=st.lists(st.integers()), seed=st.integers(0, 1000))
def test_the_order_of_coming_does_not_matter(tasks: list[int], seed: int) -> None:
    told: list[tuple[int, int]] = []
    found = fan_out(
        squared,
        tasks,
        executor=Disorderly(len(tasks), seed),
        told=lambda *so_far: told.append(so_far),
    )
    assert found == [task * task for task in tasks] == fan_out(squared, tasks, workers=1)
    assert told == [(done, len(tasks)) for done in range(1, len(tasks) + 1)]
