"""The desk's assertions explain themselves like those of a test."""

import pytest

pytest.register_assert_rewrite("desk")
