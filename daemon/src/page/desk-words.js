// The words of the desk: one file per language, chosen by the setting here or the browser's wish.

const LANGUAGES = { en: "English", de: "Deutsch" };
const KEPT = "endarc-language";

/** The language that is spoken now. */
export const language = chosen();

const texts = await (await fetch(`/page/words/${language}.json`)).json();

function chosen() {
  const wishes = [localStorage.getItem(KEPT), ...navigator.languages.map((one) => one.slice(0, 2))];
  return wishes.find((one) => one in LANGUAGES) ?? "en";
}

/** Fills a select with the languages; another choice loads the page anew. */
export function offerLanguages(select) {
  for (const [tag, name] of Object.entries(LANGUAGES)) {
    select.append(new Option(name, tag, false, tag === language));
  }
  select.addEventListener("change", () => {
    localStorage.setItem(KEPT, select.value);
    location.reload();
  });
}

/** A text with its places filled in; the key itself where there is none. */
export function t(key, places = {}) {
  return Object.entries(places).reduce(
    (text, [name, value]) => text.replaceAll(`{${name}}`, value),
    texts[key] ?? key,
  );
}

/** The text for a word of a closed list, e.g. `word("side", "left")`. */
export const word = (kind, name) => texts[`${kind}.${name}`] ?? name;

/** A text that starts a line. */
export const capital = (text) => text.charAt(0).toLocaleUpperCase(language) + text.slice(1);

function number(value, decimals) {
  const text = value.toFixed(decimals).replace(/^-(?=[0.]*$)/, "");
  return text.replace("-", "−").replace(".", t("number.point"));
}

/** A number, or a dash. */
export const plain = (value, decimals = 1) => (value == null ? t("nothing") : number(value, decimals));
/** An angle, e.g. "32.1°". */
export const angle = (value) => (value == null ? t("nothing") : `${number(value, 1)}°`);
/** A change with its sign. */
export const change = (value) =>
  value == null ? t("nothing") : (value >= 0.05 ? "+" : "") + angle(value);
/** Seconds, e.g. "1.2 s". */
export const seconds = (value) => t("unit.seconds", { value: number(value, 1) });
/** The word for a direction, or for the total. */
export const way = (direction) => word("direction", direction ?? "total");

/** A moment as it was at its place: the offset is left as it came. */
export function moment(rfc3339) {
  const local = new Date(`${rfc3339.slice(0, 19)}Z`);
  const how = { dateStyle: "medium", timeStyle: "short", timeZone: "UTC" };
  return new Intl.DateTimeFormat(language === "en" ? "en-GB" : language, how).format(local);
}

/** The day of a moment, short. */
export function day(rfc3339) {
  const local = new Date(`${rfc3339.slice(0, 10)}T12:00:00Z`);
  const how = { day: "numeric", month: "short", year: "2-digit", timeZone: "UTC" };
  return new Intl.DateTimeFormat(language === "en" ? "en-GB" : language, how).format(local);
}
