// A storefront's order: sent once, waited for, its files listed.
//
//   SIZERUN_URL=http://localhost:8080 SIZERUN_KEY=szr_… node dist/sample.js
import { Refused, sizerun, type Run } from "./client.js";

const service = sizerun(process.env["SIZERUN_URL"] ?? "http://localhost:8080", process.env["SIZERUN_KEY"] ?? "");

async function order(number: string): Promise<Run> {
  const { data, error } = await service.POST("/v1/runs", {
    params: { header: { Prefer: "wait=20", "Idempotency-Key": `order-${number}` } },
    body: { style: "wren-petal", sizes: ["14"], outputs: [{ paper: "A4" }], external_id: number },
  });
  if (error) throw new Refused(error);
  return data;
}

async function over(run: Run): Promise<Run> {
  while (run.state === "queued" || run.state === "making") {
    const { data, error } = await service.GET("/v1/runs/{id}", {
      params: { path: { id: run.id }, header: { Prefer: "wait=20" } },
    });
    if (error) throw new Refused(error);
    run = data;
  }
  return run;
}

const run = await over(await order("2001"));
if (run.state !== "done") throw new Error(run.problem?.detail ?? run.state);
const { data: files, error } = await service.GET("/v1/runs/{id}/files", { params: { path: { id: run.id } } });
if (error) throw new Refused(error);
for (const f of files.items) console.log(f.name, f.pages, "pages", f.bytes, "bytes", f.sha256);

// A wrong order does not compile; one that only the service can judge is refused with its place.
const wrong = await service.POST("/v1/runs", { body: { style: "wren-petal", sizes: ["15"] } });
if (wrong.error?.errors?.[0]?.pointer !== "/sizes/0") throw new Error("the wrong size was not named");
