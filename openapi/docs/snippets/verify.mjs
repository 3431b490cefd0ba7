import { createHmac, timingSafeEqual } from "node:crypto";

// True when the webhook is ours and fresh. headers: names in lower case; body: a Buffer.
export function verify(secret, headers, body, now = Date.now() / 1000) {
  const sent = headers["webhook-timestamp"];
  if (!(Math.abs(now - Number(sent)) <= 300)) return false;
  const key = Buffer.from(secret.replace(/^whsec_/, ""), "base64");
  const mac = createHmac("sha256", key).update(`${headers["webhook-id"]}.${sent}.`).update(body);
  const want = Buffer.from("v1," + mac.digest("base64"));
  return (headers["webhook-signature"] ?? "").split(" ").some((s) => {
    const got = Buffer.from(s);
    return got.length === want.length && timingSafeEqual(got, want);
  });
}
