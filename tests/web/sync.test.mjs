// Sending and fetching against a service that fails: nothing is lost, nothing doubled, nothing stuck.
import assert from "node:assert/strict";
import { test } from "node:test";
import { newEntry, newHead } from "../../web/app/book/entry.js";
import { fold } from "../../web/app/book/fold.js";
import { drain } from "../../web/app/sync/drain.js";
import { sendPhotos } from "../../web/app/sync/photo-send.js";
import { pull, pullAsBuilt, pullPaper, pullPapers, rebase } from "../../web/app/sync/pull.js";
import { NoAnswer, Refusal, Service, Strange } from "../../web/app/sync/service.js";
import { MemoryOutbox, ModelService } from "./model.mjs";
import { chance } from "./seeded.mjs";

const head = newHead("Invented", { class: "II" }, [{ id: "A", title: "", joists: 5, lines: ["near"] }]);
const device = (k) => `${k}`.repeat(8) + "-1111-4111-8111-111111111111";
const remark = (text, n = 1, by = device(1)) => newEntry("remark", { run: "A", text }, { by, n });

/** A phone of the model: one survey, and one whole round as the page makes it. */
class Phone {
  outbox = new MemoryOutbox();
  made = [];

  constructor(k) {
    this.by = device(k);
    this.outbox.addSurvey(head);
  }

  write(text) {
    const n = 1 + Math.max(0, ...this.outbox.of(head.id).map(({ entry }) => entry.n ?? 0));
    const entry = remark(text, n, this.by);
    this.outbox.add(head.id, entry);
    this.made.push(entry);
  }

  async round(service) {
    const there = (await service.surveys()).find(({ id }) => id === head.id);
    const [survey] = await this.outbox.surveys();
    const sent = await drain(service, this.outbox, survey, there);
    await rebase(service, this.outbox, survey, [...sent, ...(await pull(service, this.outbox, survey))]);
    await pullAsBuilt(service, this.outbox, head.id);
  }

  get entries() {
    return this.outbox.of(head.id).map(({ entry }) => entry);
  }
}

const folded = (entries) => JSON.stringify(fold(head, entries).entries);
const logOf = (service) => service.surveysThere.get(head.id)?.log.map(({ entry }) => entry) ?? [];

test("everything goes over once, in batches", async () => {
  const [phone, service] = [new Phone(1), new ModelService()];
  for (let k = 0; k < 450; k += 1) phone.write(`remark ${k}`);
  let posts = 0;
  service.fault = (when, what) => when === "before" && what === "post" && (posts += 1);
  await phone.round(service);
  assert.equal(logOf(service).length, 450);
  assert.equal(posts, 3);
  assert.equal((await phone.outbox.unsent(head.id, 9)).length, 0);
});

test("an answer lost after the commit doubles nothing", async () => {
  const [phone, service] = [new Phone(1), new ModelService()];
  phone.write("one");
  service.fault = (when, what) => {
    if (when === "after" && what === "post") throw new NoAnswer("lost");
  };
  await assert.rejects(phone.round(service), NoAnswer);
  service.fault = () => undefined;
  await phone.round(service);
  assert.equal(logOf(service).length, 1);
});

test("a refused entry stays, is told, and holds nothing up", async () => {
  const [phone, service] = [new Phone(1), new ModelService()];
  ["one", "bad", "three"].forEach((text) => phone.write(text));
  service.refuses = ({ text }) => (text === "bad" ? "text: is not liked" : "");
  await phone.round(service);
  assert.deepEqual(logOf(service).map(({ text }) => text), ["one", "three"]);
  const [bad] = phone.outbox.of(head.id).filter(({ refused }) => refused);
  assert.equal(bad.refused, "text: is not liked");
  service.refuses = () => "";
  await phone.outbox.sendAgain(head.id, { all: false });
  await phone.round(service);
  assert.equal(logOf(service).length, 3);
});

test("one entry that has a whole batch refused is found, and the rest goes", async () => {
  const [phone, service] = [new Phone(1), new ModelService()];
  for (let k = 0; k < 130; k += 1) phone.write(k === 77 ? "poison" : `remark ${k}`);
  service.poison = ({ text }) => text === "poison";
  await phone.round(service);
  assert.equal(logOf(service).length, 129);
  assert.equal(phone.outbox.of(head.id).filter(({ refused }) => refused).length, 1);
});

test("an answer that passes over entries ends the round and loses none", async () => {
  const [phone, service] = [new Phone(1), new ModelService()];
  phone.write("one");
  service.post = async () => ({ there: new Set(), refused: new Map() });
  await assert.rejects(phone.round(service), Strange);
  assert.equal((await phone.outbox.unsent(head.id, 9)).length, 1);
});

for (const status of [401, 403, 500, 503]) {
  test(`status ${status} marks no entry as refused`, async () => {
    const [phone, service] = [new Phone(1), new ModelService()];
    phone.write("one");
    service.post = async () => {
      throw new Refusal(status, "no");
    };
    await assert.rejects(phone.round(service), Refusal);
    assert.equal((await phone.outbox.unsent(head.id, 9)).length, 1);
  });
}

test("a service that has lost its store, or part of it, gets everything again", async () => {
  const [phone, service] = [new Phone(1), new ModelService()];
  for (let k = 0; k < 5; k += 1) phone.write(`remark ${k}`);
  await phone.round(service);
  service.surveysThere.clear();
  service.sequence = 0;
  await phone.round(service);
  assert.equal(logOf(service).length, 5);
  const there = service.surveysThere.get(head.id);
  there.log.splice(2).forEach(({ entry }) => there.known.delete(entry.id));
  service.sequence = 2;
  await phone.round(service);
  assert.equal(logOf(service).length, 5);
});

test("long pages are fetched to the end, and a broken fetch goes on where it was", async () => {
  const [one, other, service] = [new Phone(1), new Phone(2), new ModelService()];
  service.pageSize = 7;
  for (let k = 0; k < 40; k += 1) one.write(`remark ${k}`);
  await one.round(service);
  let pages = 0;
  service.fault = (when, what) => {
    if (what === "page" && when === "after" && (pages += 1) === 3) throw new NoAnswer("cut");
  };
  await assert.rejects(other.round(service), NoAnswer);
  assert.equal(other.entries.length, 14);
  await other.round(service);
  assert.equal(folded(other.entries), folded(one.entries));
  assert.equal(pages, 3 + 5);
});

test("a photo that is cut anywhere goes on from there, and no byte of it goes twice", async () => {
  const bytes = Uint8Array.from({ length: 64 }, (_, k) => k).buffer;
  for (let at = 0; at < 64; at += 9) {
    const [outbox, service] = [new MemoryOutbox(), new ModelService()];
    outbox.photos.set("s", { bytes, type: "image/jpeg", unsent: true });
    let [sent, tries] = [0, 0];
    service.cut = (length) => {
      tries += 1;
      const cut = tries > 1 ? length : at;
      sent += cut;
      return cut;
    };
    await sendPhotos(service, outbox, () => undefined).catch(() => undefined);
    await sendPhotos(service, outbox, () => undefined);
    assert.deepEqual(service.photosThere.get("s"), new Uint8Array(bytes));
    assert.equal(sent, 64);
    assert.deepEqual(await outbox.photosToGo(), []);
  }
});

test("a photo is done only when the service has it whole, not when it has as many bytes", async () => {
  const bytes = Uint8Array.from({ length: 64 }, (_, k) => k).buffer;
  const [there, puts] = [{ length: "64", whole: false }, []];
  const service = new Service(async (_, { method, headers, body }) => {
    if (method === "HEAD") {
      const type = there.whole ? "image/jpeg" : "text/html";
      return new Response(null, { headers: { "Upload-Offset": there.length, "Content-Type": type } });
    }
    puts.push([headers["Content-Range"], body.byteLength]);
    there.whole = true;
    return new Response("{}", { status: 201 });
  });
  const outbox = new MemoryOutbox();
  const go = async () => {
    outbox.photos.set("s", { bytes, type: "image/jpeg", unsent: true });
    await sendPhotos(service, outbox, () => undefined);
    assert.deepEqual(await outbox.photosToGo(), []);
  };
  await go();
  assert.deepEqual(puts, [[undefined, 64]]);
  await go();
  assert.equal(puts.length, 1);
  [there.whole, there.length] = [false, "60"];
  await go();
  assert.deepEqual(puts[1], ["bytes 60-63/64", 4]);
});

test("a photo that is refused stays and the next one goes", async () => {
  const [outbox, service] = [new MemoryOutbox(), new ModelService()];
  for (const name of ["a", "b"]) outbox.photos.set(name, { bytes: new ArrayBuffer(8), type: "image/jpeg", unsent: true });
  const put = service.putPhoto.bind(service);
  service.putPhoto = async (sum, ...more) => {
    if (sum === "a") throw new Refusal(422, "not a picture");
    return put(sum, ...more);
  };
  await sendPhotos(service, outbox, () => undefined);
  assert.equal(outbox.photos.get("a").refused, "not a picture");
  assert.ok(service.photosThere.has("b"));
});

/** Any answer in place of the service's. */
const answering = (body, more = {}) => new Service(async () => new Response(body, { headers: { "Content-Type": "application/json" }, ...more }));

const STRANGE = ["", "<html>", "null", "[]", "{}", '{"stored": 1}', '{"entries": [1], "cursor": 4}', '{"entries": [{"id": "x"}], "cursor": 3}', '{"entries": [], "cursor": "4"}', '{"surveys": [{}]}'];

for (const body of STRANGE) {
  test(`the answer ${body || "of nothing"} is not taken for another`, async () => {
    const service = answering(body);
    const asked = [service.surveys(), service.post("x", []), service.page("x", 3), service.survey("x"), service.asBuilt("x", null)];
    for (const outcome of await Promise.allSettled(asked)) assert.ok(outcome.reason instanceof Strange);
  });
}

test("who asks at once shares an answer; one of the last moment is taken by who says so alone", async () => {
  let asked = 0;
  const service = new Service(async () => ((asked += 1), new Response('{"surveys": []}')));
  await Promise.all([service.surveys(), service.surveys()]);
  assert.equal(asked, 1);
  await service.surveys({ lately: true });
  assert.equal(asked, 1);
  await service.surveys();
  assert.equal(asked, 2);
});

test("a problem is told in the service's own words, whatever its shape", async () => {
  const problem = JSON.stringify({ title: "Refused", detail: "Entry 3, field value: must be a number" });
  await assert.rejects(answering(problem, { status: 422 }).surveys(), /Entry 3, field value/);
  await assert.rejects(answering("<h1>Bad gateway</h1>", { status: 502 }).surveys(), /it answered 502/);
  await assert.rejects(new Service(async () => { throw new TypeError("Failed to fetch"); }).surveys(), NoAnswer);
});

/** One story of two phones and a bad network. */
async function story(seed) {
  const next = chance(seed);
  const service = new ModelService();
  service.pageSize = 1 + Math.floor(next() * 6);
  const phones = [new Phone(1), new Phone(2)];
  const acknowledged = new Set();
  service.fault = () => {
    if (next() < 0.25) throw next() < 0.5 ? new NoAnswer("lost") : new Refusal(503, "busy");
  };
  for (let step = 0; step < 40; step += 1) {
    const phone = phones[Math.floor(next() * 2)];
    if (next() < 0.5) phone.write(`step ${step}`);
    else await phone.round(service).catch(() => undefined);
    for (const { entry, unsent } of phones.flatMap(({ outbox }) => outbox.of(head.id))) if (!unsent) acknowledged.add(entry.id);
    const there = logOf(service).map(({ id }) => id);
    assert.equal(new Set(there).size, there.length, "nothing is doubled");
    for (const id of acknowledged) assert.ok(there.includes(id), "nothing acknowledged is lost");
  }
  service.fault = () => undefined;
  for (const phone of [...phones, ...phones]) await phone.round(service);
  const every = phones.flatMap(({ made }) => made);
  assert.equal(logOf(service).length, every.length);
  for (const entries of [logOf(service), phones[0].entries, phones[1].entries]) assert.equal(folded(entries), folded(every));
}

const only = process.env.BAYWALK_SEED;
const seeds = only ? [Number(only)] : Array.from({ length: 300 }, (_, seed) => seed);

test("two phones on a bad network, many times over (BAYWALK_SEED=n plays one again)", async () => {
  for (const seed of seeds) {
    await story(seed).catch((error) => {
      error.message = `seed ${seed}: ${error.message}`;
      throw error;
    });
  }
});

/** A phone with an as-built of an ETag, settled or not. */
function built(etag, settled = true) {
  const phone = new Phone(1);
  phone.outbox.builts.set(head.id, { id: head.id, etag, body: { settled } });
  return [phone.outbox, new ModelService()];
}

test("papers come once an as-built, and with the choices made last", async () => {
  const [outbox, service] = built("one");
  const asked = [];
  service.fault = (when, what) => when === "before" && asked.push(what);
  await pullPapers(service, outbox, head.id);
  await pullPapers(service, outbox, head.id);
  assert.deepEqual(asked, ["plan", "capacity"]);
  await pullPaper(service, outbox, head.id, "plan", { deck: "22" });
  outbox.builts.get(head.id).etag = "two";
  await pullPapers(service, outbox, head.id);
  assert.deepEqual((await outbox.paper(head.id, "plan")).body.choices, { deck: "22" });
  assert.equal((await outbox.paper(head.id, "plan")).of, "two");
});

test("nothing is planned while a reading is in doubt", async () => {
  const [outbox, service] = built("one", false);
  await pullPapers(service, outbox, head.id);
  assert.equal(await outbox.paper(head.id, "plan"), undefined);
});

test("what the service says against a plan stands beside the older plan", async () => {
  const [outbox, service] = built("one");
  await pullPapers(service, outbox, head.id);
  const { body } = await outbox.paper(head.id, "plan");
  service.refusesPaper = () => ({ status: 409, words: "not settled" });
  const paper = await pullPaper(service, outbox, head.id, "plan", { gap: "12" });
  assert.deepEqual([paper.refused, paper.body], ["not settled", body]);
});

test("an older service without such papers, or none at all, changes nothing here", async () => {
  const [outbox, service] = built("one");
  service.refusesPaper = () => ({ status: 404, words: "no such address" });
  await pullPapers(service, outbox, head.id);
  assert.equal(await outbox.paper(head.id, "plan"), undefined);
  service.fault = () => {
    throw new NoAnswer("away");
  };
  await assert.rejects(pullPapers(service, outbox, head.id), NoAnswer);
});
