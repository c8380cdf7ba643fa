"""A picture says which program made it and how large it is; what is seen stays the same."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from annotator.pages.pdf import with_origin


@pytest.mark.parametrize("dpi", [96.0, 200.0, 242.0])
def test_another_reader_finds_program_and_size(dpi: float) -> None:
    plain = io.BytesIO()
    Image.linear_gradient("L").save(plain, "PNG")
    with Image.open(io.BytesIO(with_origin(plain.getvalue(), dpi))) as picture:
        picture.verify()
    with Image.open(io.BytesIO(with_origin(plain.getvalue(), dpi))) as picture:
        assert picture.info["Software"] == "annotator"
        assert picture.info["dpi"] == pytest.approx((dpi, dpi), abs=0.02)
        assert picture.tobytes() == Image.linear_gradient("L").tobytes()
