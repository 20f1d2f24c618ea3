import pytest

from shotwindow.cli.web_access import Gate, Refused, is_loopback, own_hosts

HOSTS = own_hosts("192.0.2.7", 8431)


class Clock:
    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


def gate_with_code() -> tuple[Gate, list[str], Clock]:
    codes: list[str] = []
    clock = Clock()
    return Gate(HOSTS, codes.append, clock), codes, clock


def test_code__right__once_only_and_the_next_is_told() -> None:
    gate, codes, _ = gate_with_code()
    assert gate.is_in(gate.cookie_for(codes[0]))
    assert len(codes) == 2
    with pytest.raises(Refused, match="not the code"):
        gate.cookie_for(codes[0])
    assert gate.is_in(gate.cookie_for(codes[1].replace(" ", "")))


def test_codes__of_a_thousand__eight_digits_and_no_two_alike() -> None:
    # Of 10^8 codes two of a thousand are alike with a chance of 1000^2 / 2 / 10^8 = 0.5 %: three
    # pairs by chance are fewer than one run in ten million.
    codes = [gate_with_code()[1][0] for _ in range(1000)]
    assert all(len(code) == 9 and code.replace(" ", "").isdecimal() for code in codes)
    assert len(set(codes)) > 997


def test_code__wrong_five_times__none_is_taken_for_ten_minutes() -> None:
    gate, codes, clock = gate_with_code()
    for left in (4, 3, 2, 1):
        with pytest.raises(Refused, match=f"Tries left: {left}"):
            gate.cookie_for("0000 000x")
    with pytest.raises(Refused, match="Too many"):
        gate.cookie_for("")
    assert len(codes) == 2  # the one that was tried is of no use any more
    clock.now = 599
    with pytest.raises(Refused, match="Too many"):
        gate.cookie_for(codes[1])
    clock.now = 601
    with pytest.raises(Refused, match="Tries left: 4"):
        gate.cookie_for(codes[0])
    assert gate.is_in(gate.cookie_for(codes[1]))


@pytest.mark.parametrize("code", ["١٢٣٤٥٦٧٨", "1" * 10_000, "\0", "ä"])
def test_code__odd_text__refused_as_wrong(code: str) -> None:
    with pytest.raises(Refused, match="not the code"):
        gate_with_code()[0].cookie_for(code)


def test_cookie__of_another_server_or_forged__not_in() -> None:
    gate, codes, _ = gate_with_code()
    cookie = gate.cookie_for(codes[0])
    name, _, signature = cookie.partition(".")
    assert gate.is_in(cookie)
    for forged in ("", ".", name, f"{name}.", f"x{cookie}", f"{name}.{signature[:-1]}", "é.é"):
        assert not gate.is_in(forged)
    assert not gate_with_code()[0].is_in(cookie)


def test_token__of_another_device__not_taken() -> None:
    gate = Gate(HOSTS)
    one, other = gate.new_cookie(), gate.new_cookie()
    assert gate.has_token(one, gate.token(one))
    assert not gate.has_token(one, gate.token(other))
    assert not gate.has_token(one, "")
    assert not gate.is_in(f"{one.partition('.')[0]}.{gate.token(one)}")  # a token is no cookie


def test_hosts__own_names_only() -> None:
    gate = Gate(own_hosts("127.0.0.1", 8431))
    for host in ("127.0.0.1:8431", "localhost:8431", "LOCALHOST:8431", "[::1]:8431"):
        assert gate.is_own_host(host)
    for host in ("", "127.0.0.1", "127.0.0.1:80", "evil.example:8431", "localhost:8431.evil"):
        assert not gate.is_own_host(host)
    assert Gate(own_hosts("127.0.0.1", 80)).is_own_host("localhost")
    assert not Gate(HOSTS).is_own_host("localhost:8431")


def test_posts__from_the_own_page_only() -> None:
    gate, host = Gate(HOSTS), "192.0.2.7:8431"
    assert gate.is_own_page(host, f"http://{host}", "same-origin")
    assert gate.is_own_page(host, f"http://{host}", None)
    for origin in (None, "null", "http://192.0.2.7:80", f"http://{host}.evil.example"):
        assert not gate.is_own_page(host, origin, None)
    assert not gate.is_own_page(host, f"http://{host}", "cross-site")


def test_loopback__names_and_numbers() -> None:
    assert all(map(is_loopback, ("127.0.0.1", "127.8.8.8", "::1", "[::1]", "LocalHost")))
    assert not any(map(is_loopback, ("192.0.2.7", "0.0.0.0", "press.example", "127.0.0.1.example")))
