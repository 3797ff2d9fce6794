#!/usr/bin/env python3
"""Letters against two real mail servers, a killed program, and hostile names.

Exactly once: 500 letters go to aiosmtpd (STARTTLS) and 500 to Exim (TLS from the first
byte), both with a login, on free ports of this machine; every tenth has a second
recipient, whom the servers refuse for now every other time, or as a die falls. The program is
killed at 200 random moments for each server, with more letters if those run out; where
strace is at hand, it is also killed at each single call that writes a file, syncs, renames,
sends or waits for an answer, in a run of two letters, one of them to two people, and in
the run after it that asks once more for who was refused. What the servers hold for whom is
then counted, every doubt in the journal must stand on the screen with its two choices, and
each letter must be noted as due once, before it was written, whatever stopped the runs.

Tried out: `send --try` says that all is well, that the password is wrong, that nobody
vouches for the certificate, and hands nothing over.

Read back: hostile names, titles and addresses go through `.eml` files and are read by
Python's own `email`, and must be equal to what `fairday notices` showed.

Usage: .ci/letters.py [FAIRDAY]   (a package index for pip; exim4 and strace if there)
"""
import concurrent.futures
import contextlib
import email
import email.header
import email.policy
import email.utils
import json
import os
import random
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import unicodedata
import venv
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
MAIL = ROOT / "tests" / "mail"
LETTERS = 500
KILLS = 200
USER, PASSWORD = "studio", "only for this test"
# TLS leaves by `writev`, in the clear by `sendto`; an answer that is waited for comes by
# `recvfrom`: a kill there is one after the server has seen what was sent.
SYSCALLS = ["write", "writev", "pwrite64", "sendto", "sendmsg", "recvfrom", "fsync", "fdatasync",
            "rename", "renameat", "renameat2", "ftruncate", "fchmod", "unlink", "unlinkat", "mkdir"]

# JSON is YAML; every stage that a print has behind it when it leaves.
PROGRESS = [{"at": f"2026-05-0{day} 12:00", "did": did}
            for day, did in [(3, "coated"), (4, "exposed"), (5, "washed"), (7, "finished")]]

STUDIO = """studio: Blue Shed Prints
place: {latitude_deg: 52.1, longitude_deg: 5.1, altitude_m: 4, zone: Europe/Amsterdam}
today: 2026-05-11 07:00
frames: [{name: small, inside: 31x43 cm}]
racks: {dark_dry_sheets: 10, dark_dry_line_cm: 200, wet_dry_sheets: 10, wet_dry_line_cm: 200}
trays: {count: 1, inside: 45x62 cm}
materials:
  rag: {name: cotton rag, kind: paper, target_dose_kj_m2: 29}
sensitizer: {name: classic, a_percent: 25, b_percent: 10}
shipping: {collection_days: [mon, thu], transit_days: {home: 2}}
letters:
  from: studio@example.org
  person: Marit
"""

AIOSMTPD = '''
import asyncio, collections, email, ssl, sys
from aiosmtpd.smtp import SMTP, AuthResult
port, seen, cert, key, user, password = sys.argv[1:]
class Handler:
    async def handle_DATA(self, server, session, envelope):
        mail = email.message_from_bytes(envelope.content)
        with open(seen, "a") as out:
            for to in envelope.rcpt_tos:
                out.write(mail["Message-ID"].strip() + " " + to + "\\n")
            out.flush()
        return "250 taken"
    async def handle_RCPT(self, server, session, envelope, address, options):
        self.asked[address] += 1
        if address.startswith("copy") and self.asked[address] % 2 == 1:
            return "451 ask again"
        envelope.rcpt_tos.append(address)
        return "250 ok"
    asked = collections.Counter()
def check(server, session, envelope, mechanism, data):
    good = (data.login, data.password) == (user.encode(), password.encode())
    return AuthResult(success=good, handled=False)
async def main():
    tls = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    tls.load_cert_chain(cert, key)
    make = lambda: SMTP(Handler(), tls_context=tls, require_starttls=True,
                        auth_required=True, authenticator=check)
    loop = asyncio.get_running_loop()
    server = await loop.create_server(make, "127.0.0.1", int(port))
    await server.serve_forever()
asyncio.run(main())
'''

EXIM = """
exim_path = {exim}
primary_hostname = localhost
spool_directory = {spool}
log_file_path = {spool}/log/%slog
pid_file_path = {spool}/exim.pid
daemon_smtp_ports = {port}
tls_on_connect_ports = {port}
local_interfaces = 127.0.0.1
tls_advertise_hosts = *
tls_certificate = {cert}
tls_privatekey = {key}
queue_only = true
host_lookup =
rfc1413_hosts =
smtp_accept_max = 100
acl_smtp_rcpt = check
begin acl
check:
  defer local_parts = ^copy
        condition = ${{if eq{{${{randint:2}}}}{{0}}}}
        message = ask again
  accept authenticated = *
  deny
begin authenticators
plain:
  driver = plaintext
  public_name = PLAIN
  server_prompts = :
  server_condition = ${{if and{{{{eq{{$auth2}}{{{user}}}}}{{eq{{$auth3}}{{{password}}}}}}}}}
  server_set_id = $auth2
"""


def fail(words: str) -> None:
    sys.exit(f"letters: {words}")


def free_port() -> int:
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return listener.getsockname()[1]


def wait_for(port: int, process: subprocess.Popen) -> None:
    for _ in range(200):
        if process.poll() is not None:
            fail(f"a mail server ended at once with status {process.returncode}")
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 1):
            return
        time.sleep(0.1)
    fail("a mail server did not answer within 20 s")


class Server:
    """A running mail server: its port, how the line is secured, what it took."""

    def __init__(self, name, port, security, process, taken):
        self.name, self.port, self.security = name, port, security
        self.process, self.taken = process, taken


def start_aiosmtpd(work: Path) -> Server:
    venv.create(work / "venv", with_pip=True)
    python = str(work / "venv" / "bin" / "python")
    pip = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    pinned = str(ROOT / ".ci" / "letters.requirements.txt")
    subprocess.run([*pip, "--requirement", pinned], check=True)
    seen, script, port = work / "seen", work / "server.py", free_port()
    seen.touch()
    script.write_text(AIOSMTPD)
    files = [str(MAIL / "server.pem"), str(MAIL / "server.key.pem")]
    process = subprocess.Popen([python, str(script), str(port), str(seen), *files, USER, PASSWORD],
                               stderr=subprocess.DEVNULL)
    wait_for(port, process)
    return Server("aiosmtpd", port, "starttls", process, lambda: seen.read_text().splitlines())


def start_exim(work: Path) -> Server | None:
    """Starts Exim with a configuration of our own; it keeps what it takes in its spool."""
    exim = shutil.which("exim4") or shutil.which("exim4", path="/usr/sbin")
    if exim is None or os.geteuid() != 0:
        print("exim: skipped, it is not installed or this is not the super-user")
        return None
    spool, port = work / "exim", free_port()
    (spool / "log").mkdir(parents=True)
    for name in ["server.pem", "server.key.pem"]:
        shutil.copy(MAIL / name, spool / name)
    config = work / "exim.conf"
    config.write_text(EXIM.format(exim=exim, spool=spool, port=port, user=USER, password=PASSWORD,
                                  cert=spool / "server.pem", key=spool / "server.key.pem"))
    for path in [spool, *spool.rglob("*")]:
        shutil.chown(path, "Debian-exim", "Debian-exim")
    command = [exim, "-C", str(config), "-bdf"]
    process = subprocess.Popen(command, stderr=subprocess.DEVNULL)
    wait_for(port, process)

    def head(path: Path) -> str:
        # A mail whose sender was killed goes away while we look: it was not taken.
        try:
            return path.read_text("utf-8", "replace")
        except FileNotFoundError:
            return ""

    def taken() -> list[str]:
        found = []
        for text in map(head, (spool / "input").rglob("*-H")):
            name = re.search(r"^\d+I? +Message-ID: (.+)$", text, re.M | re.I)
            to = re.search(r"^XX\n\d+\n((?:.+\n)+)\n", text, re.M)
            if name and to:
                found += [f"{name.group(1).strip()} {line.split()[0]}"
                          for line in to.group(1).splitlines()]
        return found

    return Server("exim", port, "tls", process, taken)


def write_studio(folder: Path, way: str, count: int) -> None:
    folder.mkdir()
    (folder / "studio.yaml").write_text(STUDIO + way)
    write_orders(folder, 1, count)


def recipients_of(number: int) -> list[str]:
    """Mail addresses of an order; every tenth has two."""
    copies = [f"copy{number}@example.org"] if number % 10 == 1 else []
    return [f"ada{number}@example.org", *copies]


def write_orders(folder: Path, first: int, last: int) -> None:
    for number in range(first, last + 1):
        to = ", ".join(recipients_of(number))
        (folder / f"{number:04}.yaml").write_text(
            f"order: 26-{number:04}\ncustomer: {{name: Ada {number}, email: [{to}]}}\n"
            "ordered_on: 2026-05-01\njurisdiction: eu\ndelivery: home\n"
            "pieces:\n  - title: Fern\n    material: rag\n    size: A4\n    negative: fern\n"
            f"    progress: {json.dumps(PROGRESS)}\n"
            "dispatch: {on: 2026-05-08}\n")


def smtp(server: Server) -> str:
    return (f"  smtp: {{host: localhost, port: {server.port}, security: {server.security}, "
            f"user: {USER}, password_env: MAIL_PASSWORD}}\n")


class Fairday:
    """The program with a clean environment that holds the password."""

    def __init__(self, binary: Path):
        self.binary = str(binary)
        self.env = {"PATH": os.environ["PATH"], "MAIL_PASSWORD": PASSWORD,
                    "SSL_CERT_FILE": str(MAIL / "ca.pem")}

    def start(self, folder: Path, *words: str, before=()) -> subprocess.Popen:
        command = [*before, self.binary, "--dir", str(folder), *words]
        return subprocess.Popen(command, env=self.env, stdout=subprocess.DEVNULL,
                                stderr=subprocess.DEVNULL)

    def run(self, folder: Path, *words: str) -> subprocess.CompletedProcess:
        command = [self.binary, "--dir", str(folder), *words]
        return subprocess.run(command, env=self.env, capture_output=True, text=True)


def entries(folder: Path) -> list[dict]:
    """The whole entries of the journal."""
    journal = folder / "outbox" / "journal.jsonl"
    text = journal.read_text() if journal.exists() else ""
    return [json.loads(line) for line in text.split("\n")[:-1]]


def last_steps(folder: Path) -> dict[str, dict]:
    """The last whole entry of the journal for each letter, by its name."""
    return {entry["id"]: entry for entry in entries(folder)}


def settle(fairday: Fairday, folder: Path, server: Server, before: Counter, said=None) -> int:
    """Answers every doubt as a maker would who asked her customers; returns how many.

    `said` is what a whole run showed: it must name each doubt with its two choices, and no
    other.
    """
    unknown = [e for e in last_steps(folder).values() if e["step"] == "unknown"]
    if said is not None:
        words = " ".join(said.split())
        choices = [f"--told {e['order']}` if it did, `fairday send --once-more {e['order']}` if not"
                   for e in unknown]
        missing = [choice for choice in choices if choice not in words]
        if missing or words.count("nobody knows whether it arrived") != len(unknown):
            fail(f"{len(unknown)} letters are in doubt, and the screen says {said!r}")
    # The same letter of an earlier folder has the same Message-ID and does not count.
    taken = Counter(server.taken()) - before
    for entry in unknown:
        # One handing over was for all of whom nobody knows; one of them tells for all.
        to = recipients_of(int(entry["order"][3:]))
        each = [r["reached"] for r in entry.get("recipients", [])] or ["unknown"]
        in_doubt = to[each.index("unknown")]
        answer = "--told" if taken[f"{entry['message_id']} {in_doubt}"] else "--once-more"
        done = fairday.run(folder, "send", answer, entry["order"])
        if done.returncode != 0:
            fail(f"{entry['id']} could not be settled: {done.stderr}")
    return len(unknown)


def finish(fairday: Fairday, folder: Path, server: Server, before: Counter) -> int:
    """Lets runs end by themselves until nothing is left; returns the doubts met."""
    unknown = 0
    for _ in range(20):
        ended = fairday.run(folder, "send", "--again")
        found = settle(fairday, folder, server, before, ended.stdout)
        unknown += found
        if ended.returncode == 0 and not found:
            return unknown
    fail(f"letters were still open after twenty whole runs: {ended.stdout[-500:]} {ended.stderr}")


def judge(folder: Path, server: Server, count: int, before: Counter) -> tuple[int, int]:
    """Counts orders whose letter the server lacks, and letters that it has twice."""
    # A letter settled "once more" keeps its Message-ID; a new one would count as twice.
    taken = Counter(server.taken()) - before
    got: Counter[str] = Counter()
    for entry in last_steps(folder).values():
        for to in recipients_of(int(entry["order"][3:])):
            got[to] += taken[f"{entry['message_id']} {to}"]
    wanted = [to for number in range(1, count + 1) for to in recipients_of(number)]
    lost = sum(got[to] == 0 for to in wanted)
    twice = sum(max(got[to] - 1, 0) for to in wanted)
    strangers = sum(taken.values()) - sum(got.values())
    if strangers:
        fail(f"{server.name} took {strangers} letters that no journal knows")
    noted = sum(path.read_text().count("kind: dispatched") for path in folder.glob("0*.yaml"))
    if noted != count:
        fail(f"{noted} of {count} customers stand as told in their order files")
    steps: dict[str, list[str]] = {}
    for entry in entries(folder):
        steps.setdefault(entry["order"], []).append(entry["step"])
    for order, went in steps.items():
        if went[:2] != ["due", "queued"] or went.count("due") != 1:
            fail(f"order {order} is noted as {went}; each is due once, then written")
    return lost, twice


def kill_at_random(fairday: Fairday, work: Path, server: Server) -> None:
    folder = work / f"random-{server.name}"
    write_studio(folder, smtp(server), LETTERS)
    dice = random.Random(20260511)
    before = Counter(server.taken())
    unknown = kills = 0
    count, reach = LETTERS, 0.1
    while kills < KILLS:
        process = fairday.start(folder, "send", "--again")
        try:
            process.wait(timeout=dice.uniform(0, reach))
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
            kills += 1
        told = len({line.split()[0] for line in Counter(server.taken()) - before})
        unknown += sum(e["step"] == "handed_over" for e in last_steps(folder).values())
        fairday.run(folder, "send", "26-0002")   # a run of one letter finds out what is open
        settle(fairday, folder, server, before)
        # Long enough to get on, short enough that letters are left for the last kill.
        left = count - told
        reach = min(max(reach * (0.8 if left < (KILLS - kills) * LETTERS / KILLS else 1.15), 0.05), 5.0)
        if left <= 10 and kills < KILLS:
            write_orders(folder, count + 1, count + 20)
            count += 20
    unknown += finish(fairday, folder, server, before)
    lost, twice = judge(folder, server, count, before)
    copies = sum(len(recipients_of(number)) - 1 for number in range(1, count + 1))
    print(f"{server.name}: {count} letters, {copies} of them to two, killed at {kills} random "
          f"moments: lost {lost}, sent twice {twice}, said to be unknown {unknown}")
    if lost or twice:
        fail(f"{server.name} does not hold every letter exactly once")


def kill_at_writes(fairday: Fairday, work: Path, server: Server) -> None:
    strace = shutil.which("strace")
    probe = strace and subprocess.run([strace, "-o", "/dev/null", "true"], capture_output=True)
    if not strace or probe.returncode != 0:
        print(f"{server.name}: killed at every write: skipped, no strace here")
        return
    kills, counts = 0, Counter()
    lost = twice = unknown = 0
    for which in ("first", "second"):
        folder, log = work / f"count-{which}-{server.name}", work / f"strace-{server.name}.log"
        begin(fairday, folder, server, which)
        before = [strace, "-o", str(log), "-e", "trace=" + ",".join(SYSCALLS)]
        fairday.start(folder, "send", "--again", before=before).wait()
        calls = Counter(re.findall(r"^(\w+)\(", log.read_text(), re.M))
        counts += calls
        for call, count in sorted(calls.items()):
            for when in range(1, count + 1):
                folder = work / f"{which}-{call}-{when}-{server.name}"
                taken = begin(fairday, folder, server, which)
                inject = f"inject={call}:signal=SIGKILL:when={when}"
                before = [strace, "-o", "/dev/null", "-e", f"trace={call}", "-e", inject]
                ended = fairday.start(folder, "send", "--again", before=before).wait()
                kills += ended != 0
                unknown += finish(fairday, folder, server, taken)
                found = judge(folder, server, 2, taken)
                lost, twice = lost + found[0], twice + found[1]
                shutil.rmtree(folder)
    what = ", ".join(f"{count} {call}" for call, count in sorted(counts.items()))
    print(f"{server.name}: killed at every write of two runs ({what}; {kills} kills): "
          f"lost {lost}, sent twice {twice}, said to be unknown {unknown}")
    if lost or twice:
        fail(f"{server.name} does not hold every letter exactly once")


def begin(fairday: Fairday, folder: Path, server: Server, which: str) -> Counter:
    """Writes a studio with two letters and returns what the server had taken before.

    The second run finds the first behind it, and a recipient who was refused for now.
    """
    while True:
        taken = Counter(server.taken())
        write_studio(folder, smtp(server), 2)
        if which == "first":
            return taken
        fairday.run(folder, "send")
        if any(entry["step"] == "refused_now" for entry in last_steps(folder).values()):
            return taken
        shutil.rmtree(folder)


TURNS = set("\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")

HOSTILE = [
    ("Ines\r\nBcc: everybody@example.org", "ines@example.org"),
    ('"Ines" <boss@example.org>', '"ines calder"@example.org'),
    ("O'Neil, Ines (\\home); x", "o'neil+prints@example.org"),
    ("=?utf-8?q?Ines?= =?utf-8?b?SW5lcw==?=", "ines@example.org"),
    ("عنان بن داود \u202eabc\u202c", "anan@example.org"),
    ("李明 & <b>Zoë</b> &amp; {{studio.name}}", "li@example.org"),
    (".\r\n.\r\nQUIT\r\n", "dot@example.org"),
    ("Ines " * 2000, "long@example.org"),
    ("é" * 5000, "wide@example.org"),
    ("Subject: free\tmoney\x0b!", "head@example.org"),
    ("Zoë", "zoë@bücher.example"),
    ("Jürgen", "juergen@bücher.example"),
]


def one_line(text: str) -> str:
    """What a letter makes of a name: one line, no marks that turn the writing."""
    spaced = "".join(" " if c.isspace() or unicodedata.category(c) == "Cc" else c for c in text)
    words = ("".join(c for c in word if c not in TURNS) for word in spaced.split(" "))
    return " ".join(word for word in words if word)


def in_mail(address: str) -> str:
    """An address whose domain stands as name servers know it (RFC 5891), by Python's own."""
    local, at, domain = address.rpartition("@")
    return local + at + domain.encode("idna").decode()


def recipients(raw: bytes) -> list[tuple[str, str]]:
    """Names and addresses in `To`.

    The newer reader of addresses leaves blanks between neighbouring encoded words of a
    name, which RFC 2047, 6.2, drops; the older one with `decode_header` does not.
    """
    # An address beyond ASCII stands in the header as UTF-8 (RFC 6532).
    value = email.message_from_string(raw.decode())["To"].replace("\r", "").replace("\n", "")
    pairs = email.utils.getaddresses([value])
    return [(str(email.header.make_header(email.header.decode_header(name))), address)
            for name, address in pairs]


def read_back(fairday: Fairday, work: Path) -> None:
    folder = work / "hostile"
    write_studio(folder, "  folder: sent\n", 0)
    for index, (name, address) in enumerate(HOSTILE):
        number = f"26-{index:04}"
        order = {
            "order": number, "customer": {"name": name, "email": address},
            "ordered_on": "2026-05-01", "jurisdiction": "eu", "delivery": "home",
            "pieces": [{"title": f"{name}\n.\n<script>alert(1)</script>", "material": "rag",
                        "size": "A4", "negative": "fern",
                        "progress": PROGRESS}],
            "dispatch": {"on": "2026-05-08", "tracking": "A\r\nBcc: x@example.org"},
        }
        (folder / f"{index:04}.yaml").write_text(json.dumps(order))
    shown = fairday.run(folder, "notices", "--json")
    letters = {n["order"]: n["letter"] for n in json.loads(shown.stdout)["notices"]}
    if len(letters) != len(HOSTILE):
        fail(f"{len(letters)} of {len(HOSTILE)} hostile orders are due a letter: {shown.stderr}")
    fairday.run(folder, "send")
    mails = sorted((folder / "sent").glob("*.eml"))
    if len(mails) != len(HOSTILE):
        fail(f"{len(mails)} of {len(HOSTILE)} hostile letters were written")
    for path in mails:
        raw = path.read_bytes()
        mail = email.message_from_bytes(raw, policy=email.policy.default)
        number = re.search(r"26_(\d{4})", path.name).group(1)
        name, address = HOSTILE[int(number)]
        letter = letters[f"26-{number}"]
        known = {"message-id", "date", "from", "to", "subject", "auto-submitted", "mime-version",
                 "content-type"}
        to = recipients(raw)
        text = mail.get_body(("plain",)).get_content().replace("\r\n", "\n")
        html = mail.get_body(("html",)).get_content().replace("\r\n", "\n")
        facts = {
            "headers": ({key.lower() for key in mail.keys()} <= known, True),
            "subject": (mail["Subject"], letter["subject"]),
            "recipients": (len(to), 1),
            "name": (to[0][0], one_line(name).replace("=?", "= ?")),
            "address": (to[0][1], in_mail(address)),
            "text": (text.rstrip("\n"), letter["text"].rstrip("\n")),
            "html": (html.rstrip("\n"), letter["html"].rstrip("\n")),
            "script": ("<script" in html, False),
            "line length": (max(map(len, raw.split(b"\r\n"))) <= 998, True),
        }
        for fact, (found, expected) in facts.items():
            if found != expected:
                fail(f"{path.name}: {fact} is {found!r:.300}, expected {expected!r:.300}")
    print(f"hostile: {len(HOSTILE)} letters read back by Python's email, all equal")


def try_out(fairday: Fairday, work: Path, server: Server) -> None:
    """`send --try` with the right password, a wrong one, and an authority that nobody trusts."""
    folder = work / f"try-{server.name}"
    write_studio(folder, smtp(server), 1)
    before = server.taken()
    cases = [({}, 0, "no letter was sent"),
             ({"MAIL_PASSWORD": "a wrong one"}, 2, ": 535 "),
             ({"SSL_CERT_FILE": None}, 2, "nobody whom this machine trusts vouches")]
    for change, code, words in cases:
        other = Fairday(Path(fairday.binary))
        other.env = {key: value for key, value in {**fairday.env, **change}.items() if value}
        tried = other.run(folder, "send", "--try")
        said = tried.stdout + tried.stderr
        if tried.returncode != code or words not in said or PASSWORD in said or "a wrong" in said:
            fail(f"{server.name}: tried out with {change}: {tried.returncode}, {said!r}")
    if server.taken() != before or (folder / "outbox").exists():
        fail(f"{server.name}: trying out handed something over")
    print(f"{server.name}: tried out, with a wrong password and an unknown authority, too: "
          "nothing handed over")


def trial(fairday: Fairday, work: Path, server: Server) -> None:
    try_out(fairday, work, server)
    kill_at_writes(fairday, work, server)
    kill_at_random(fairday, work, server)


def main() -> None:
    binary = Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "target" / "release" / "fairday"
    if not binary.exists():
        fail(f"{binary} is not there; build it with `cargo build --release`")
    fairday = Fairday(binary.resolve())
    begun = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="letters-") as folder:
        work = Path(folder)
        work.chmod(0o755)
        read_back(fairday, work)
        servers = []
        try:
            for start in (start_aiosmtpd, start_exim):
                server = start(work)
                if server:
                    servers.append(server)
            # Side by side: each trial waits for its own processes most of the time.
            with concurrent.futures.ThreadPoolExecutor() as pool:
                trials = [pool.submit(trial, fairday, work, server) for server in servers]
                for running in trials:
                    running.result()
        finally:
            for server in servers:
                server.process.terminate()
                server.process.wait()
    print(f"letters: {time.monotonic() - begun:.0f} s")


if __name__ == "__main__":
    main()
