<?php
// True when the webhook is ours and fresh. $headers: names in lower case; $body: as it came.
function verify(string $secret, array $headers, string $body, ?int $now = null): bool
{
    $sent = $headers['webhook-timestamp'] ?? '';
    if (!ctype_digit($sent) || abs(($now ?? time()) - (int) $sent) > 300) {
        return false;
    }
    $key = base64_decode(preg_replace('/^whsec_/', '', $secret));
    $text = ($headers['webhook-id'] ?? '') . '.' . $sent . '.' . $body;
    $want = 'v1,' . base64_encode(hash_hmac('sha256', $text, $key, true));
    foreach (explode(' ', $headers['webhook-signature'] ?? '') as $signature) {
        if (hash_equals($want, $signature)) {
            return true;
        }
    }
    return false;
}
