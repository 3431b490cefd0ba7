import base64, hashlib, hmac, time


def verify(secret, headers, body, now=None):
    """True when the webhook is ours and fresh. headers: names in lower case; body: bytes."""
    sent = headers.get("webhook-timestamp", "")
    if not sent.isdecimal() or abs((now or time.time()) - int(sent)) > 300:
        return False
    key = base64.b64decode(secret.removeprefix("whsec_"))
    text = f"{headers.get('webhook-id')}.{sent}.".encode() + body
    want = "v1," + base64.b64encode(hmac.new(key, text, hashlib.sha256).digest()).decode()
    return any(hmac.compare_digest(want.encode(), s.encode()) for s in headers.get("webhook-signature", "").split(" "))
