#!/usr/bin/env python3
# usage: check_post.py POST_TRY      messages against servers of the standard library, good and bad
import asyncore
import email
import http.server
import json
import os
import smtpd
import socket
import ssl
import subprocess
import sys
import tempfile
import threading
import time

program = os.path.abspath(sys.argv[1])
folder = tempfile.mkdtemp(prefix="inward-post-")
os.chdir(folder)
passed = failed = 0


def check(name, good, said=""):
    global passed, failed
    passed, failed = passed + bool(good), failed + (not good)
    print(f"{'ok  ' if good else 'FAIL'} {name}{'' if good else ': ' + str(said)}")


class Hook(http.server.BaseHTTPRequestHandler):
    def do_POST(self):
        body = self.rfile.read(int(self.headers["Content-Length"]))
        self.server.heard.append((dict(self.headers), body))
        self.server.answer(self)

    def log_message(self, *_):
        pass


def serve(answer, tls=None):
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Hook)
    server.heard, server.answer = [], answer
    if tls:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(*tls)
        server.socket = context.wrap_socket(server.socket, server_side=True)
    server.handle_error = lambda *_: None
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server


def status(code, headers=(), body=b""):
    def answer(h):
        h.send_response(code)
        for key, value in headers:
            h.send_header(key, value)
        h.send_header("Content-Length", str(len(body)))
        h.end_headers()
        h.wfile.write(body)
    return answer


class Mail(smtpd.SMTPServer):
    heard = []

    def process_message(self, peer, mailfrom, rcpttos, data, **_):
        if rcpttos == ["no@example.org"]:
            return "550 no such box"
        Mail.heard.append((mailfrom, rcpttos, data))
        return None


def run(feeds, count=1, env=None):
    with open("feeds.yaml", "w", encoding="utf-8") as out:
        out.write("inward: 1 feeds\nsources: {us: {hand: {}}}\npoints: {}\nmessages:\n" + feeds)
    done = subprocess.run([program, "feeds.yaml", str(count)], capture_output=True, text=True, timeout=120,
                          env={**os.environ, **(env or {})}, check=False)
    lines = {line.split(" ", 1)[0]: line.split(" ", 4) for line in done.stdout.splitlines()}
    return done, lines


def one(name, url, count=1, more="", env=None):
    return run(f"  {name}: {{alarms: urgent, at most: 50, webhook: {{url: \"{url}\"{more}}}}}\n", count, env)


# ---- a webhook that takes it ----
good = serve(status(204))
done, lines = one("hook", f"http://127.0.0.1:{good.server_port}/in", 2, ', token: "env:WORD"', {"WORD": "s3cret"})
check("a webhook is sent once a cause", lines["hook"][1:4] == ["2", "0", "0"] and len(good.heard) == 2, done.stdout)
head, body = good.heard[0]
message = json.loads(body)
check("its word is shown", head.get("Authorization") == "Bearer s3cret", head)
check("its body is inward.message.1", message["schema"] == "inward.message.1" and message["label"] == "DEMO" and
      message["priority"] == "urgent" and message["t"] == "2026-10-26T07:33:20Z", message)
check("putting waits for nothing", float(lines["longest"][1]) < 50, done.stdout)

# ---- servers that do not ----
other = serve(status(204))
away = serve(status(302, [("Location", f"http://127.0.0.1:{other.server_port}/")]))
done, lines = one("away", f"http://127.0.0.1:{away.server_port}/")
check("nothing is followed elsewhere", lines["away"][1:4] == ["0", "1", "0"] and not other.heard and
      "not followed" in lines["away"][4], done.stdout)
refusing = serve(status(503, body=b"no"))
done, lines = one("refusing", f"http://127.0.0.1:{refusing.server_port}/")
check("what is refused is tried three times and told as not sent",
      lines["refusing"][1:4] == ["0", "1", "0"] and len(refusing.heard) == 3 and "503" in lines["refusing"][4] and
      "told 0 not sent" in done.stdout, done.stdout)
huge = serve(status(200, body=b"x" * 5_000_000))
done, lines = one("huge", f"http://127.0.0.1:{huge.server_port}/")
check("a huge reply ends the talk", "64 KiB" in lines["huge"][4], done.stdout)
dying = serve(lambda h: h.connection.shutdown(socket.SHUT_RDWR))
done, lines = one("dying", f"http://127.0.0.1:{dying.server_port}/")
check("a server that dies is told", lines["dying"][1:4] == ["0", "1", "0"] and lines["dying"][4], done.stdout)
slow = serve(lambda h: time.sleep(20))
began = time.monotonic()
done, lines = run(f"  slow: {{alarms: urgent, webhook: {{url: \"http://127.0.0.1:{slow.server_port}/\"}}}}\n"
                  f"  hook: {{alarms: urgent, webhook: {{url: \"http://127.0.0.1:{good.server_port}/\"}}}}\n")
check("a slow one is given up, and holds up nobody else", lines["slow"][1:4] == ["0", "1", "0"] and
      lines["hook"][1:4] == ["1", "0", "0"] and time.monotonic() - began < 12, done.stdout)
free = socket.socket()
free.bind(("127.0.0.1", 0))
done, lines = one("nobody", f"http://127.0.0.1:{free.getsockname()[1]}/")
check("nobody there is told", lines["nobody"][1:4] == ["0", "1", "0"], done.stdout)

# ---- certificates ----
subprocess.run(["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-keyout", "key.pem", "-out", "cert.pem",
                "-days", "2", "-subj", "/CN=127.0.0.1", "-addext", "subjectAltName=IP:127.0.0.1"],
               check=True, capture_output=True)
forged = serve(status(204), ("cert.pem", "key.pem"))
done, lines = one("forged", f"https://127.0.0.1:{forged.server_port}/")
check("a certificate that nobody vouches for is refused", lines["forged"][1:4] == ["0", "1", "0"] and
      not forged.heard and "certificate" in lines["forged"][4], done.stdout)
done, lines = one("vouched", f"https://127.0.0.1:{forged.server_port}/", more=", ca: cert.pem")
check("one that the file named vouches for is taken", lines["vouched"][1:4] == ["1", "0", "0"] and
      len(forged.heard) == 1, done.stdout)

# ---- mail ----
server = Mail(("127.0.0.1", 0), None, decode_data=False)
port = server.socket.getsockname()[1]
threading.Thread(target=asyncore.loop, kwargs={"timeout": 0.1}, daemon=True).start()


def mail(name, to, tls="none"):
    return f"  {name}: {{alarms: low, at most: 50, mail: {{host: 127.0.0.1, port: {port}, from: board@example.org, " \
           f"to: [{to}], tls: {tls}}}}}\n"


done, lines = run(mail("shift", "a@example.org, b@example.org"))
check("a mail is sent", lines["shift"][1:4] == ["1", "0", "0"] and len(Mail.heard) == 1, done.stdout + done.stderr)
sender, receivers, data = Mail.heard[0]
parsed = email.message_from_bytes(data)
subject = str(email.header.make_header(email.header.decode_header(parsed["Subject"])))
check("from whom and to whom", sender == "board@example.org" and receivers == ["a@example.org", "b@example.org"],
      Mail.heard)
check("its subject has suite, priority and text",
      subject == "DEMO Post suite: urgent: AF0: 1 of the usual 2 running", subject)
check("its body says that it is no guarantee", "No message is a guarantee" in parsed.get_payload(decode=True).decode(),
      data)
done, lines = run(mail("nobox", "no@example.org"))
check("a box that is not there is told", lines["nobox"][1:4] == ["0", "1", "0"], done.stdout)
done, lines = run(mail("bare", "a@example.org", "starttls"))
check("without starttls nothing is sent", lines["bare"][1:4] == ["0", "1", "0"] and len(Mail.heard) == 1, done.stdout)

# ---- limits ----
good.heard.clear()
done, lines = run(f"  few: {{alarms: urgent, at most: 3, webhook: {{url: \"http://127.0.0.1:{good.server_port}/\"}}}}\n", 15)
check("of fifteen three go in an hour, twelve are counted", lines["few"][1:4] == ["3", "0", "12"] and
      len(good.heard) == 3, done.stdout)

# ---- the file ----
for name, text, words in [
        ("a password without tls", "  m: {alarms: low, mail: {host: h, from: a@b, to: [c@d], tls: none, user: \"env:U\", "
         "secret: \"env:S\"}}\n", "can be read by everybody"),
        ("a plain url to elsewhere", "  m: {alarms: low, webhook: {url: \"http://example.org/\"}}\n", "begins with https://"),
        ("a name that only begins like this machine", "  m: {alarms: low, webhook: {url: \"http://localhost.example.org/\"}}\n",
         "begins with https://"),
        ("a secret in the file", "  m: {alarms: low, webhook: {url: \"https://example.org/\", token: hush}}\n",
         "no secret may stand"),
        ("an address with a header in it", "  m: {alarms: low, mail: {host: h, from: \"a@b>\", to: [c@d]}}\n",
         "no mail address"),
        ("nothing to send", "  m: {webhook: {url: \"https://example.org/\"}}\n", "nothing would be sent")]:
    done, _ = run(text)
    check(f"{name} is a fault", done.returncode == 2 and words in done.stderr, done.stderr)
done, _ = one("hook", "https://example.org/", more=', token: "env:INWARD_NOT_THERE"')
check("a word that is not there is told before anything starts", done.returncode == 3 and
      "message hook: env:INWARD_NOT_THERE" in done.stderr, done.stderr)
print(f"{passed} passed, {failed} failed")
sys.exit(1 if failed else 0)
