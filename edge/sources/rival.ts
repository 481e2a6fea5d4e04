/**
 * Whether another client uses our id at a broker. Pure: time comes as an argument.
 *
 * A broker keeps one connection per client id and closes the older one. Both then come back at once, for ever, and neither
 * reads anything whole. MQTT 5 says so (DISCONNECT 0x8E, MQTT 5.0 §3.14.2.1); 3.1.1 just closes, again and again right after
 * the connection was made.
 */

/** A connection that lived no longer than this was closed right after it was made, ms. */
const SHORT_MS = 10_000
/** So many of them in a row are no chance: a broker that starts, or a cable, closes one or two. */
const MOST_SHORT = 3
/** One that lived so long shows that nobody disputes the id any more, ms. */
const UNDISPUTED_MS = 300_000

export class Rival {
  #short = 0

  /**
   * The broker closed a connection.
   * @param livedMs - how long it had lived.
   * @param isTold - the broker said that another client took it over.
   * @returns `told` by the broker, `likely` by how often it happened; undefined where it looks like any other break.
   */
  closed(livedMs: number, isTold: boolean): 'told' | 'likely' | undefined {
    if (livedMs >= UNDISPUTED_MS) this.#short = 0
    else if (livedMs <= SHORT_MS) this.#short += 1
    if (isTold) return 'told'
    return livedMs <= SHORT_MS && this.#short >= MOST_SHORT ? 'likely' : undefined
  }
}
