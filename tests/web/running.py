"""A server of the page in a process of its own, and one way to ask it."""

import http.client
import os
import signal
import subprocess
import sys
import threading
from dataclasses import dataclass
from urllib.parse import urlsplit


@dataclass(frozen=True)
class Answer:
    status: int
    headers: dict
    body: bytes

    @property
    def text(self):
        return self.body.decode("utf-8")


class AsItStands(http.client.HTTPConnection):
    """A connection that sends any path, also one that is none."""

    def _validate_path(self, url):
        pass

    def _encode_request(self, request):
        return request.encode("latin-1")


class Running:
    """A server: where it answers, what it logs, and the folder it would write to."""

    def __init__(self, folder, *options, **environment):
        self.folder = folder
        self.log = []
        home = {"XDG_CONFIG_HOME": str(folder / "config"), "HOME": str(folder), "PYTHONDONTWRITEBYTECODE": "1"}
        self.process = subprocess.Popen(
            [sys.executable, "-m", "guidegen", "serve", "--port", "0", *options],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=folder,
            env=os.environ | home | environment,
        )
        self.address = self.process.stdout.readline().strip()
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self):
        self.log.extend(self.process.stderr)

    @property
    def port(self):
        return urlsplit(self.address).port

    def ask(self, path, method="GET", body=None, **headers):
        """Ask for a path as it stands; ``Host_`` and the like are headers."""
        connection = AsItStands("127.0.0.1", self.port, timeout=60)
        try:
            names = {name.rstrip("_").replace("_", "-"): value for name, value in headers.items()}
            connection.putrequest(method, path, skip_host="Host" in names, skip_accept_encoding=True)
            if body is not None:
                names.setdefault("Content-Length", str(len(body)))
                names.setdefault("Content-Type", "application/x-www-form-urlencoded")
            for name, value in names.items():
                connection.putheader(name, value)
            connection.endheaders(body)
            answer = connection.getresponse()
            return Answer(answer.status, {k.lower(): v for k, v in answer.getheaders()}, answer.read())
        finally:
            connection.close()

    def stop(self):
        self.process.send_signal(signal.SIGTERM)
        try:
            return self.process.wait(20)
        finally:
            self.process.kill()
            self.process.stdout.close()
            self.process.stderr.close()
