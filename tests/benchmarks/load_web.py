"""What locust lets its clients ask: the mix of a class at work, only new letters, only kept ones, or only tags."""

import itertools
import os
import random

from bench_web import marker_query
from locust import FastHttpUser, constant, task

MIX = os.environ.get("GUIDEGEN_MIX", "mixed")
NUMBERS = itertools.count(random.randrange(10**6, 10**7))


class Client(FastHttpUser):
    """One who lets go of a slider and looks at a page or takes one."""

    wait_time = constant(0)
    tag = ""

    @task
    def ask(self):
        if MIX == "kept":
            self.client.get("/live?" + marker_query(1), name="kept")
        elif MIX == "same":
            headers = {"If-None-Match": self.tag} if self.tag else {}
            answer = self.client.get("/live?" + marker_query(1), headers=headers, name="same")
            self.tag = answer.headers.get("etag", self.tag)
        elif MIX == "new":
            self.client.get("/live?" + marker_query(next(NUMBERS)), name="new")
        else:
            self.mixed()

    def mixed(self):
        number = next(NUMBERS)
        chance = number % 20
        if chance < 10:
            self.client.get("/live?" + marker_query(number), name="live")
        elif chance < 14:
            self.client.get("/?" + marker_query(number % 12), name="page")
        elif chance < 16:
            self.client.get("/page/1.svg?" + marker_query(number % 12, need="sheet"), name="svg")
        elif chance < 18:
            self.client.get("/take.pdf?" + marker_query(number, need="sheet"), name="pdf")
        elif chance < 19:
            self.client.get("/picture/letter.png?" + marker_query(number % 40), name="picture")
        else:
            self.client.get("/static/page.css", name="static")
