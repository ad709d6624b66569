"""Find this computer's address in the home network, and nothing wider."""

import ipaddress
import socket

from laydown.errors import NotLetInError

NOWHERE = ("192.0.2.1", 9)
"""An address kept for examples (RFC 5737): asking the way there sends nothing."""


def home_address() -> str:
    """Return the address that other devices in the home network reach this computer at.

    Raises
    ------
    NotLetInError
        Where there is none, or it can be reached from outside the home.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        try:
            way.connect(NOWHERE)
            found = way.getsockname()[0]
        except OSError as error:
            raise NotLetInError(
                "This computer is in no network that a phone could reach it by.",
                hint="Join the home network, then start again.",
            ) from error
    return checked_address(found)


def checked_address(text: str) -> str:
    """Return an address in a home network as it is; refuse any other.

    References
    ----------
    RFC 1918 (private addresses), RFC 3927 (those that devices give themselves).

    Examples
    --------
    >>> checked_address("192.168.1.20")
    '192.168.1.20'
    """
    address = ipaddress.ip_address(text)
    if not any(address in network for network in HOME):
        raise NotLetInError(
            f"This computer's address, {text}, is not one of a home network.",
            hint="The bench opens to a home network only: join one, or work without the phone.",
        )
    return text


HOME = tuple(
    ipaddress.ip_network(network)
    for network in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16")
)
