// The only place that talks to the service. Each answer is one of a few kinds; none throws.

/**
 * kind: "answer" (200), "unreadable" (422, with its errors), "busy" (503), "slow" (no answer in time), "down" (no answer, or
 * none of the service's own), "failed" (any other problem), "stopped" (another question took its place).
 */
export async function ask(address, body, { language, accept = "application/json", seconds, stop }) {
  const inTime = new AbortController();
  let late = false;
  const timer = setTimeout(() => {
    late = true;
    inTime.abort();
  }, seconds * 1000);
  const giveUp = () => inTime.abort();
  stop?.addEventListener("abort", giveUp);
  try {
    const response = await fetch(address, {
      method: "POST",
      headers: { "Content-Type": "application/json", Accept: accept, "Accept-Language": language },
      body: JSON.stringify(body),
      signal: inTime.signal,
      credentials: "omit",
      cache: "no-store",
      referrerPolicy: "no-referrer",
    });
    const text = await response.text(); // within the same time: an answer may stop halfway
    if (response.ok) return { kind: "answer", answer: accept === "application/json" ? JSON.parse(text) : text };
    return refusal(response, text);
  } catch {
    if (late) return { kind: "slow" };
    return { kind: stop?.aborted ? "stopped" : "down" };
  } finally {
    clearTimeout(timer);
    stop?.removeEventListener("abort", giveUp);
  }
}

function refusal(response, text) {
  const type = response.headers.get("Content-Type") ?? "";
  // Whatever stands before the service may answer in its place, with a page of its own.
  if (!type.startsWith("application/problem+json")) return { kind: "down" };
  const problem = JSON.parse(text);
  const id = problem.request_id;
  if (response.status === 422) return { kind: "unreadable", errors: problem.errors, id };
  return { kind: response.status === 503 ? "busy" : "failed", id };
}
