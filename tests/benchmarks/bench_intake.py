"""Speed of the intake page: run with ``make bench``, never part of the suite.

Processor time of a warm process with the database in memory. Wanted on a quiet core: an answer kept and everything
that follows from it drawn in 60 ms; the list of 25 in 100 ms; a photograph of 12 megapixels taken in within 1 s.
"""

from __future__ import annotations

import itertools
import time
from io import BytesIO
from typing import Any

import pytest
from django.urls import reverse
from PIL import Image

from customers.enquiries.models import Enquiry
from customers.photos.taking import take_photo
from tests import factories

pytestmark = pytest.mark.benchmark(timer=time.process_time)
ANSWERED = ("first_draw", "after_rain", "autumn", "old_steel", "one_tap", "slime_smears", "septic_near", "power_cut")


@pytest.mark.parametrize("known", ["nothing yet", "three complaints, eight answers, a household with results"])
def test_an_answer_and_what_follows(benchmark: Any, office_client: Any, site: Any, known: str) -> None:
    enquiry = factories.EnquiryFactory(dealer=site.dealer)
    if known != "nothing yet":
        Enquiry.objects.update(site=site)
        factories.WaterTestFactory(site=site, results={"iron": 1.2, "ph": 6.7, "hardness": 210.0, "nitrate": 3.0})
        for code in ("metal_taste", "white_scale", "egg_cold", *ANSWERED):
            factories.EnquiryAnswerFactory(enquiry=enquiry, code=code)
        for code in ("tall_tank", "salt", "cord"):
            factories.EnquiryAnswerFactory(enquiry=enquiry, kind="feature", code=code)
    address = reverse("enquiry", args=[enquiry.public_id])
    turns = itertools.cycle(("yes", "no"))

    def answer() -> Any:
        return office_client.post(address, {"a-o-rust_stains": next(turns)}, headers={"HX-Request": "true"})

    answer()
    assert benchmark.pedantic(answer, rounds=30).status_code == 200


def test_the_whole_page(benchmark: Any, office_client: Any, dealer: Any) -> None:
    enquiry = factories.EnquiryFactory(dealer=dealer)
    factories.EnquiryAnswerFactory(enquiry=enquiry, code="white_scale")
    page = benchmark.pedantic(office_client.get, args=(reverse("enquiry", args=[enquiry.public_id]),), rounds=15)
    benchmark.extra_info["bytes"] = len(page.content)


def test_the_list_of_twenty_five(benchmark: Any, office_client: Any, dealer: Any) -> None:
    for code in itertools.islice(itertools.cycle(("white_scale", "tea_clear", "egg_hot", "grit", "salty")), 25):
        factories.EnquiryAnswerFactory(enquiry=factories.EnquiryFactory(dealer=dealer), code=code)
    assert benchmark.pedantic(office_client.get, args=(reverse("enquiry-list"),), rounds=15).status_code == 200


def test_a_photograph(benchmark: Any) -> None:
    out = BytesIO()
    Image.effect_noise((4000, 3000), 40).convert("RGB").save(out, "JPEG", quality=85)
    taken = benchmark.pedantic(lambda: take_photo(BytesIO(out.getvalue())), rounds=5)
    benchmark.extra_info["sent"], benchmark.extra_info["kept"] = len(out.getvalue()), len(taken.data)
