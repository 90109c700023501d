// A model of the two ends of the sync: the phone's outbox in memory, and a service that keeps the
// contract of the routes and can be made to fail in every way a loft's network does.
import { same } from "../../web/app/book/file.js";
import { NoAnswer, Refusal } from "../../web/app/sync/service.js";

/** The outbox with the database taken out: what it holds survives, as the database would. */
export class MemoryOutbox {
  records = new Map();
  heads = new Map();
  builts = new Map();
  papers = new Map();
  photos = new Map();

  addSurvey(head, brought = false) {
    this.heads.set(head.id, { id: head.id, head, brought, cursor: 0, lastSync: null });
  }

  add(survey, entry) {
    this.records.set(entry.id, { survey, entry, unsent: true });
  }

  of(survey) {
    return [...this.records.values()].filter((record) => record.survey === survey);
  }

  async surveys() {
    return [...this.heads.values()].map((one) => ({
      ...one,
      entries: this.of(one.id).length,
      toGo: this.of(one.id).filter(({ unsent }) => unsent).length,
      oldest: null,
    }));
  }

  async unsent(survey, most) {
    return this.of(survey).filter(({ unsent }) => unsent).map(({ entry }) => entry).slice(0, most);
  }

  async settle(_survey, { there, refused }) {
    for (const id of [...there, ...refused.keys()]) {
      const record = this.records.get(id);
      if (record) this.records.set(id, { survey: record.survey, entry: record.entry, refused: refused.get(id) });
    }
  }

  async sendAgain(survey, { all }) {
    if (all) this.heads.get(survey).cursor = 0;
    for (const record of this.of(survey)) if (all || record.refused !== undefined) this.add(survey, record.entry);
  }

  async take(survey, entries, cursor) {
    const fresh = [];
    for (const entry of entries) {
      const known = this.records.get(entry.id);
      if (!known) fresh.push(entry);
      const differs = known && !same(known.entry, entry);
      this.records.set(entry.id, { survey, entry: known?.entry ?? entry, ...(differs ? { refused: "differs" } : {}) });
    }
    this.heads.get(survey).cursor = cursor;
    return fresh;
  }

  async rebase(head) {
    this.heads.get(head.id).head = head;
  }

  async asBuilt(survey) {
    return this.builts.get(survey);
  }

  async keepAsBuilt(record) {
    this.builts.set(record.id, record);
  }

  async paper(survey, kind) {
    return this.papers.get(`${kind}.${survey}`);
  }

  async keepPaper(survey, kind, record) {
    this.papers.set(`${kind}.${survey}`, record);
  }

  async photosToGo() {
    return [...this.photos].filter(([, photo]) => photo.unsent).map(([sum]) => sum);
  }

  async photo(sum) {
    return this.photos.get(sum);
  }

  async photoDone(sum, refused) {
    this.photos.set(sum, { ...this.photos.get(sum), unsent: false, refused });
  }
}

/** A service in memory. `fault` is asked before and after each request and may throw. */
export class ModelService {
  surveysThere = new Map();
  sequence = 0;
  photosThere = new Map();
  fault = (_when, _what) => undefined;
  refuses = (_entry) => "";
  poison = (_entry) => false;
  pageSize = 500;

  async #ask(what, work) {
    this.fault("before", what);
    const answer = structuredClone(work());
    this.fault("after", what);
    return answer;
  }

  #survey(id) {
    const found = this.surveysThere.get(id);
    if (!found) throw new Refusal(404, "this survey is not known here");
    return found;
  }

  surveys() {
    return this.#ask("surveys", () => [...this.surveysThere.values()].map(({ head, log }) => ({ id: head.id, title: head.title, created: head.created, cursor: log.at(-1)?.seq ?? 0 })));
  }

  putHead(head) {
    return this.#ask("head", () => void (this.surveysThere.has(head.id) || this.surveysThere.set(head.id, { head, log: [], known: new Map() })));
  }

  survey(id) {
    return this.#ask("survey", () => ({ head: this.#survey(id).head, entries: this.#survey(id).log.map(({ entry }) => entry) }));
  }

  post(id, entries) {
    return this.#ask("post", () => {
      const { log, known } = this.#survey(id);
      if (entries.some(this.poison)) throw new Refusal(400, "not of this shape");
      const [there, refused] = [new Set(), new Map()];
      for (const entry of entries) {
        const old = known.get(entry.id);
        const why = old && !same(old, entry) ? "id: is known with other content" : this.refuses(entry);
        if (why) refused.set(entry.id, why);
        else there.add(entry.id);
        if (why || old) continue;
        known.set(entry.id, structuredClone(entry));
        log.push({ seq: (this.sequence += 1), entry: structuredClone(entry) });
      }
      return { there, refused };
    });
  }

  page(id, after) {
    return this.#ask("page", () => {
      const rows = this.#survey(id).log.filter(({ seq }) => seq > after).slice(0, this.pageSize);
      return { entries: rows.map(({ entry }) => entry), cursor: rows.at(-1)?.seq ?? after };
    });
  }

  asBuilt(id, etag) {
    return this.#ask("as-built", () => {
      const mine = [...this.#survey(id).known.keys()].sort().join();
      return mine === etag ? null : { etag: mine, body: { format: "baywalk.as-built" } };
    });
  }

  paper(id, kind, choices) {
    return this.#ask(kind, () => {
      const why = this.refusesPaper?.(kind, choices);
      if (why) throw new Refusal(why.status, why.words);
      return { format: `baywalk.${kind}`, choices, decks: [] };
    });
  }

  photoOffset(sum, size) {
    return this.#ask("offset", () => Math.min(this.photosThere.get(sum)?.length ?? 0, size));
  }

  putPhoto(sum, { bytes }, from) {
    return this.#ask("photo", () => {
      const old = this.photosThere.get(sum) ?? new Uint8Array();
      if (from && from !== old.length) throw new Refusal(409, "goes on elsewhere");
      const sent = new Uint8Array(bytes).slice(from);
      const cut = this.cut?.(sent.length) ?? sent.length;
      this.photosThere.set(sum, new Uint8Array([...old.slice(0, from), ...sent.slice(0, cut)]));
      if (cut < sent.length) throw new NoAnswer("cut off");
    });
  }
}
