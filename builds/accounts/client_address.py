"""Where a request comes from: what a proxy says is believed only of the proxies named in the settings."""

from ipaddress import IPv4Address, ip_address, ip_network

from django.conf import settings

FORWARDED = ("HTTP_X_FORWARDED_FOR", "HTTP_X_FORWARDED_PROTO", "HTTP_X_FORWARDED_HOST", "HTTP_FORWARDED")


def know_client_address(get_response):
    """Middleware, the first: put the client's address into REMOTE_ADDR, and drop what a stranger says of itself."""

    def respond(request):
        if is_trusted(request.META.get("REMOTE_ADDR", "")):
            request.META["REMOTE_ADDR"] = find_client(request.META)
        else:
            for name in FORWARDED:
                request.META.pop(name, None)
        return get_response(request)

    return respond


def is_trusted(address: str) -> bool:
    """Is this one of our proxies? A socket of the machine itself has no address and is."""
    if not settings.TRUSTED_PROXIES:
        return False
    if not address:
        return True
    try:
        own = ip_address(address)
    except ValueError:
        return False
    return any(own in ip_network(known, strict=False) for known in settings.TRUSTED_PROXIES)


def find_client(meta) -> str:
    """The last address of X-Forwarded-For that is not a proxy of ours: those before it anybody may have written."""
    addresses = [part.strip() for part in meta.get("HTTP_X_FORWARDED_FOR", "").split(",") if part.strip()]
    for address in reversed(addresses):
        if not is_trusted(address):
            return address if _is_address(address) else meta.get("REMOTE_ADDR", "")
    return meta.get("REMOTE_ADDR", "")


def counted_address(request) -> str:
    """By what calls from one place are counted: an address, of IPv6 the first 64 bits, since whoever has one address
    there has all of its network (RFC 4291, 2.5.1; RFC 6177)."""
    return build_network(request.META.get("REMOTE_ADDR", ""))


def build_network(address: str) -> str:
    try:
        own = ip_address(address)
    except ValueError:
        return address
    if isinstance(own, IPv4Address):
        return address
    if own.ipv4_mapped:
        return str(own.ipv4_mapped)
    return str(ip_network((int(own), 64), strict=False).network_address)


def _is_address(text: str) -> bool:
    try:
        ip_address(text)
    except ValueError:
        return False
    return True
