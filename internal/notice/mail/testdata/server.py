"""A mail server for tests: aiosmtpd (SMTP, RFC 5321) with STARTTLS or TLS and a log-in.

What it does with a mail depends on the name of who gets it; mail that it takes is put
into a folder, a file each."""

import asyncio, itertools, os, ssl, sys, time
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult

kind, port, folder, cert, key = sys.argv[1], int(sys.argv[2]), sys.argv[3], sys.argv[4], sys.argv[5]
number = itertools.count()
seen = set()


class Box:
    async def handle_RCPT(self, server, session, envelope, address, options):
        name = address.split("@")[0]
        if name == "nobody":
            return "550 5.1.1 There is no such mailbox"
        if name == "grey" and address not in seen:
            seen.add(address)
            return "451 4.7.1 Come again later"
        if name == "slow":
            await asyncio.sleep(5)
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        name = envelope.rcpt_tos[0].split("@")[0]
        if name == "large":
            return "552 5.3.4 Too large"
        if name == "full":
            return "452 4.2.2 The mailbox is full"
        part = os.path.join(folder, "part")
        with open(part, "wb") as f:
            f.write(f"X-Envelope: {envelope.mail_from} {' '.join(envelope.rcpt_tos)} tls={session.ssl is not None or kind == 'implicit'} user={session.auth_data.login.decode() if session.auth_data else ''}\r\n".encode())
            f.write(envelope.content)
        os.rename(part, os.path.join(folder, f"{next(number):04d}.eml"))
        return "250 2.0.0 taken"


def enter(server, session, envelope, mechanism, data):
    return AuthResult(success=data.login == b"watch" and data.password == b"an old tin kettle", handled=False, auth_data=data)


context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
context.load_cert_chain(cert, key)
more = {"starttls": {"tls_context": context, "require_starttls": True, "authenticator": enter, "auth_required": True},
        "implicit": {"ssl_context": context, "authenticator": enter, "auth_required": True, "auth_require_tls": False},
        "bare": {}}[kind]
Controller(Box(), hostname="127.0.0.1", port=port, **more).start()
print("ready", flush=True)
while True:
    time.sleep(60)
