"""A TLS handshake within one process, so that OpenSSL itself says whom it believes."""

import ssl


def serving(papers):
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(papers)
    return context


def device(authority=None):
    """Return a client as strict as clients get; it trusts one authority, or what everybody does."""
    context = ssl.create_default_context(cafile=authority)
    context.verify_flags |= ssl.VERIFY_X509_STRICT
    return context


def shake_hands(server, client, name):
    """Return the certificate that a client believed, as the ssl module reads it."""
    up, down = ssl.MemoryBIO(), ssl.MemoryBIO()
    asking = client.wrap_bio(down, up, server_hostname=name)
    answering = server.wrap_bio(up, down, server_side=True)
    done = set()
    while len(done) < 2:
        for each in (asking, answering):
            try:
                each.do_handshake()
                done.add(each)
            except ssl.SSLWantReadError:
                continue
    return asking.getpeercert()


def names_of(believed):
    return {value for _kind, value in believed["subjectAltName"]}
