// The two languages of the phone pages: each person's own, switched by hand and remembered.

import { CAUTIONS_EN, CAUTIONS_ES } from "./caution_words.js";
import { MEASURES_EN, MEASURES_ES } from "./measure_words.js";
import { EN } from "./words_en.js";
import { ES } from "./words_es.js";

export const LANGUAGES = { en: "English", es: "Español" };
export const WORDS = {
  en: { ...EN, ...MEASURES_EN, ...CAUTIONS_EN },
  es: { ...ES, ...MEASURES_ES, ...CAUTIONS_ES },
};

/**
 * The language to begin with: the one chosen here, else the first of the phone's own that there are words in, else the
 * site's. A phone is set to what its owner reads; a site only to what its office reads.
 * @param {string|undefined} chosen
 * @param {readonly string[]} ofPhone as the phone ranks them: "es-MX", "en"
 * @param {string|undefined} ofSite
 */
export function firstLanguage(chosen, ofPhone, ofSite) {
  const own = ofPhone.map((tag) => tag.slice(0, 2).toLowerCase());
  return [chosen, ...own, ofSite].find((language) => language in LANGUAGES) ?? "en";
}

/**
 * A speaker of one language: t(key, {name: "filled in"}); t.many(key, n) takes key_one or key_other;
 * t.of({en, es}) takes a text that a plan carries in both.
 */
export function speaker(language) {
  const words = WORDS[language];
  const plural = new Intl.PluralRules(language);

  function t(key, values = {}) {
    const text = words[key];
    if (text === undefined) throw new Error(`no word for ${key} in ${language}`);
    return text.replace(/\{(\w+)\}/g, (_, name) => String(values[name] ?? ""));
  }

  t.many = (key, n, values = {}) => {
    // Spanish has a form for millions too; nobody has a million reports to send.
    const form = plural.select(n) === "one" ? "one" : "other";
    return t(`${key}_${form}`, { n, ...values });
  };
  t.of = (texts) => texts?.[language] || texts?.en || "";
  t.has = (key) => key in words;
  /** A stored word in the reader's language; one nobody has a word for is shown as it is. */
  t.stored = (group, value) => words[`${group}_${value}`.replaceAll(" ", "_")] ?? String(value).replaceAll("_", " ");
  t.language = language;
  return t;
}

/** The hour and minute, with the day where it is not today's; in the site's time zone. */
export function momentText(ms, language, timeZone, now) {
  const day = (at) => new Intl.DateTimeFormat("en-CA", { timeZone, dateStyle: "short" }).format(at);
  const options = { hour: "2-digit", minute: "2-digit", timeZone };
  if (day(ms) !== day(now)) Object.assign(options, { day: "numeric", month: "short" });
  return new Intl.DateTimeFormat(language === "es" ? "es-US" : "en-US", options).format(ms);
}
