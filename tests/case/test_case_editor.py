"""What an editor does with a case: a TOML language server completes its keys and explains them."""

import json
import shutil
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from simsoft.case.json_schema import FILE, LINE, schema_text
from simsoft.case.keys import find

LONGEST = 60.0  # [s] that the server may take for everything
HALF = "paddle_an"
CASE = f'{LINE}\ntitle = "own"\n[[parts]]\nname = "tail"\nkind = "paddle-tail"\n{HALF}\n'


class Editor:
    """An editor's side of the talk with a language server over its pipes."""

    def __init__(self, process, folder):
        self.process, self.count = process, 0
        self.folder = {"uri": folder.as_uri(), "name": folder.name}
        self.ask(
            "initialize", processId=None, rootUri=folder.as_uri(), capabilities={},
            workspaceFolders=[self.folder],
        )  # fmt: skip
        self.tell("initialized")

    def send(self, **message):
        body = json.dumps({"jsonrpc": "2.0", **message}).encode()
        self.process.stdin.write(b"Content-Length: %d\r\n\r\n%s" % (len(body), body))
        self.process.stdin.flush()

    def hear(self):
        length = 0
        while line := self.process.stdout.readline().strip():
            name, _, value = line.partition(b":")
            length = int(value) if name.lower() == b"content-length" else length
        return json.loads(self.process.stdout.read(length))

    def tell(self, method, **params):
        self.send(method=method, params=params)

    def ask(self, method, **params):
        """Return the answer to a question; what the server asks meanwhile is answered."""
        self.count += 1
        self.send(id=self.count, method=method, params=params)
        while True:
            message = self.hear()
            if "method" not in message and message.get("id") == self.count:
                return message["result"]
            if "method" in message and "id" in message:
                folders = message["method"] == "workspace/workspaceFolders"
                self.send(id=message["id"], result=[self.folder] if folders else None)


@pytest.fixture
def editor(tmp_path):
    """An editor that has a half-written case open, and the place of its unfinished key."""
    here = str(Path(sys.executable).parent)
    server = shutil.which("tombi", path=here) or shutil.which("tombi")
    if server is None:
        pytest.skip("no TOML language server: install the package `tombi`")
    (tmp_path / FILE).write_text(schema_text(), encoding="utf-8")
    document = {"uri": (tmp_path / "own.toml").as_uri()}
    with subprocess.Popen(
        [server, "lsp", "--offline"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
    ) as process:  # fmt: skip
        watch = threading.Timer(LONGEST, process.kill)
        watch.start()
        talk = Editor(process, tmp_path)
        opened = {**document, "languageId": "toml", "version": 1, "text": CASE}
        talk.tell("textDocument/didOpen", textDocument=opened)
        line = CASE.splitlines().index(HALF)
        place = {"line": line, "character": len(HALF)}
        yield talk, {"textDocument": document, "position": place}
        watch.cancel()
        process.kill()


def completions(talk, place):
    """Return what is offered; asked again while the server has not read case and schema yet."""
    while True:
        found = talk.ask("textDocument/completion", **place)
        items = found["items"] if isinstance(found, dict) else found
        offered = [item for item in items or () if item["label"].startswith(HALF)]
        if offered:
            return offered
        time.sleep(0.1)


def test_an_editor_completes_a_key_and_explains_it(editor):
    (item,) = completions(*editor)
    assert item["label"] == "paddle_angle"
    (key,) = find("parts.paddle_angle")
    assert key.meaning in json.dumps(item["documentation"])
