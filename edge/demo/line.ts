/** One line of the plant: rolls, festoon, drives, splicer, sensors and crew put together and stepped in time. Pure, but for its seed. */
import { Crew } from './crew.ts'
import { Drive } from './drive.ts'
import { Festoon } from './festoon.ts'
import { FlyingPaster } from './paster.ts'
import { Random } from './random.ts'
import type { LineRecipe } from './recipes.ts'
import { diameterWithWebM, Roll } from './roll.ts'
import { type RollPlan, Script } from './script.ts'
import { ComputedDiameter, readDistance, TriggerReading } from './sensors.ts'
import { Shift } from './shift.ts'
import { type SplicerEvent, ZeroSpeedSplicer } from './splicer.ts'

export type Spindle = 'A' | 'B'

/** What really happened at a splice: the plant's own knowledge, which no tag carries. */
export interface SpliceTruth {
  line: string
  /** Since the start of the plant, s. */
  startedS: number
  outcome: 'good' | 'failed' | 'missed' | 'aborted'
  cause: 'no_new_roll' | 'ran_out' | 'cycle_too_slow' | 'web_break' | 'splicer_fault' | undefined
  flags: string[]
  diameterM: number
  speedMps: number
}

/** The PLC's scan, s: diameters are read and the trigger is looked at so often. */
const SCAN_S = 0.05
const TRIGGER_SCANS = 4
const STAND_S = [18, 22] as const
const PLANNED_STAND_S = [12, 16] as const
/** Web left on the roll, as share: where a slower part begins and ends, and where the planned stop is. */
const SLOWER = { from: 0.8, to: 0.5 }
const PLANNED_STOP_AT = 0.42
/** Early press of the button, before the splice is due, s of running. */
const PRESS_BEFORE_S = 48

const splicerOf = ({ id, splicer, speedMps }: LineRecipe, festoon: Festoon | undefined) => {
  if (splicer.method === 'flying') return new FlyingPaster(splicer, speedMps)
  if (festoon) return new ZeroSpeedSplicer(splicer, festoon, speedMps)
  throw new Error(`The recipe of ${id} has a zero-speed splicer and no festoon.`)
}

export class Line {
  readonly recipe: LineRecipe
  readonly drive: Drive
  readonly festoon: Festoon | undefined
  readonly splicer: ZeroSpeedSplicer | FlyingPaster
  readonly shift: Shift
  readonly crew = new Crew()
  readonly rolls: { A: Roll | undefined; B: Roll | undefined }
  active: Spindle = 'A'
  tS = 0
  /** Web through the process, and web off all rolls, m. */
  lineLengthM = 0
  webTakenM = 0
  /** Flying: the tail of the old roll under the new web between paste and cut, m. */
  doubleWebM = 0
  hasWebBreak = false
  spliceCount = 0
  /** What the instruments say, refreshed at each scan, m. */
  readings: { A: number; B: number; running: number }

  private plan: RollPlan
  private readonly script: Script
  private readonly random: Random
  private readonly computed: ComputedDiameter | undefined
  private readonly trigger = new TriggerReading(TRIGGER_SCANS)
  private triggerM: number
  private sinceScanS = SCAN_S
  private rollNumber: number
  private isGuardOpen = false
  private wasPressed = false
  private didPlannedStop = false
  /** Line length at which the joint opens. */
  private breakAtM: number | undefined
  private open: SpliceTruth | undefined
  private readonly truths: SpliceTruth[] = []

  constructor(recipe: LineRecipe, seed: number) {
    const random = new Random(seed)
    this.recipe = recipe
    this.random = random.fork()
    this.script = new Script(recipe.script, random.fork())
    this.plan = this.script.next()
    this.drive = new Drive(recipe.drive, recipe.speedMps)
    this.festoon = recipe.festoon && new Festoon(recipe.festoon)
    this.shift = new Shift(recipe.threadMps)
    this.splicer = splicerOf(recipe, this.festoon)
    this.rollNumber = 100 + this.random.index(800)
    const toFillM = this.festoon ? this.festoon.fillM - this.festoon.runningM : 0
    this.rolls = {
      A: this.makeRoll(recipe.speedMps * recipe.firstSpliceS + toFillM),
      B: this.makeRoll(recipe.speedMps * this.plan.nextRollS + toFillM),
    }
    const startM = this.running.diameterM
    this.computed = recipe.diameter.kind === 'computed' ? new ComputedDiameter(recipe.diameter, startM) : undefined
    this.readings = { A: startM, B: startM, running: startM }
    this.triggerM = startM
  }

  get running(): Roll {
    return this.rolls[this.active]!
  }

  get waiting(): Spindle {
    return this.active === 'A' ? 'B' : 'A'
  }

  get newRollReady(): boolean {
    return this.crew.task === 'ready' && this.rolls[this.waiting] !== undefined
  }

  get isAuto(): boolean {
    return !this.isGuardOpen && !this.splicer.hasFault
  }

  get unwindSpeedMps(): number {
    return this.splicer.unwindSpeedMps
  }

  get tensionN(): number {
    if (this.hasWebBreak || this.shift.stands) return 0
    return this.recipe.tensionN * (this.splicer.isActive ? 0.94 : 1)
  }

  /** What happened since the last call. */
  takeTruths(): SpliceTruth[] {
    return this.truths.splice(0)
  }

  step(dtS: number): void {
    this.tS += dtS
    this.crewWorks(dtS)
    this.sinceScanS += dtS
    if (this.sinceScanS >= SCAN_S - dtS / 2) this.scan()
    this.runLine(dtS)
    this.drive.step(dtS)
    this.splice(dtS)
    this.moveWeb(dtS)
    this.watch()
  }

  private scan(): void {
    this.sinceScanS = 0
    const isInTheWay = this.crew.isInTheWay
    for (const spindle of ['A', 'B'] as const) {
      const isWaiting = spindle === this.waiting
      this.readings[spindle] = readDistance(
        this.recipe.diameter,
        spindle,
        this.rolls[spindle],
        isWaiting && isInTheWay,
        this.random,
      )
    }
    this.computed?.update(this.running, this.splicer.isActive, this.random)
    this.readings.running = this.computed ? this.computed.valueM : this.readings[this.active]
    this.triggerM = this.computed ? this.computed.valueM : this.trigger.add(this.readings.running)
  }

  private crewWorks(dtS: number): void {
    this.crew.step(dtS)
    const { waiting } = this
    if (this.crew.hasLoaded) this.rolls[waiting] ??= this.makeRoll(this.nextRollM())
    else if (this.crew.hasCleared) this.rolls[waiting] = undefined
    const { trouble } = this.plan
    if (trouble === 'late' && this.triggerM < this.recipe.splicer.spliceDiameterM - this.recipe.lateByM)
      this.crew.finish()
    if (trouble === 'not_auto' && this.crew.task === 'ready' && this.shift.isProducing) this.isGuardOpen = true
  }

  private nextRollM(): number {
    const toFillM = this.festoon ? this.festoon.fillM - this.festoon.runningM : 0
    return this.recipe.speedMps * this.plan.nextRollS + toFillM
  }

  private runLine(dtS: number): void {
    const event = this.shift.step(dtS, this.drive)
    if (event === 'hands') {
      this.crew.finish()
      this.crewWorks(0)
      if (this.shift.stopReason === 'run_out') this.changeRoll()
    } else if (event === 'reset') {
      this.hasWebBreak = false
      this.isGuardOpen = false
      this.splicer.reset()
    }
    if (!this.shift.isProducing) return
    const shareLeft = this.shareLeft
    const isSlower = this.plan.slowFactor < 1 && shareLeft < SLOWER.from && shareLeft > SLOWER.to
    this.drive.goTo(this.recipe.speedMps * (isSlower ? this.plan.slowFactor : 1))
    if (this.plan.hasPlannedStop && !this.didPlannedStop && shareLeft < PLANNED_STOP_AT) {
      this.didPlannedStop = true
      this.shift.stop('planned', this.random.between(...PLANNED_STAND_S), this.drive)
    }
  }

  /** Web left until the splice diameter, share of what the roll had. */
  private get shareLeft(): number {
    const { running } = this
    const spliceM2 = this.recipe.splicer.spliceDiameterM ** 2
    return (running.diameterM ** 2 - spliceM2) / (running.makeup.outerDiameterM ** 2 - spliceM2)
  }

  private splice(dtS: number): void {
    const { recipe, plan } = this
    const stopS = recipe.splicer.method === 'zero_speed' ? recipe.splicer.stopS * plan.stopFactor : 0
    const event = this.splicer.scan({
      dtS,
      lineSpeedMps: this.drive.speedMps,
      isProducing: this.shift.isProducing,
      isStanding: this.shift.stands,
      readingM: this.triggerM,
      labelCaliperM: recipe.web.labelCaliperM,
      newRollReady: this.newRollReady,
      isAuto: this.isAuto,
      isPressed: this.pressesNow(),
      stopS,
      resets: plan.trouble === 'aborted' && this.open?.flags.includes('manual') === true,
    })
    if (event) this.note(event)
  }

  private pressesNow(): boolean {
    if (this.plan.trouble !== 'aborted' || this.wasPressed || !this.newRollReady) return false
    const aheadM = this.shareLeft * this.rollWebM
    this.wasPressed = aheadM < PRESS_BEFORE_S * this.recipe.speedMps * (this.festoon ? 1.3 : 1)
    return this.wasPressed
  }

  private get rollWebM(): number {
    const { makeup } = this.running
    return (Math.PI * (makeup.outerDiameterM ** 2 - this.recipe.splicer.spliceDiameterM ** 2)) / (4 * makeup.caliperM)
  }

  private note(event: SplicerEvent): void {
    if (event === 'started') this.beginTruth()
    else if (event === 'transferred') {
      this.spliceCount++
      const { trouble, breakAtPathShare } = this.plan
      // The joint leaves the festoon when the line has taken what was in it.
      const joint = this.lineLengthM + (this.festoon?.storedM ?? 0)
      if (trouble === 'web_break') this.breakAtM = joint + breakAtPathShare * this.recipe.pathM
      this.changeRoll()
      if (!this.festoon && trouble !== 'web_break') this.close('good', undefined)
    } else if (event === 'aborted') this.close('aborted', 'splicer_fault')
    else if (this.breakAtM === undefined && this.open) this.close('good', undefined)
  }

  private beginTruth(): void {
    const spliceM = this.recipe.splicer.spliceDiameterM
    const flags: string[] = []
    if (this.triggerM > spliceM + 0.003) flags.push('early', 'manual')
    if (this.triggerM < spliceM - 0.003) flags.push('late')
    if (this.plan.trouble === 'slow_cycle' || this.plan.trouble === 'sluggish') flags.push('slow_cycle')
    this.open = {
      line: this.recipe.id,
      startedS: Number(this.tS.toFixed(2)),
      outcome: 'good',
      cause: undefined,
      flags,
      diameterM: this.running.diameterM,
      speedMps: this.drive.speedMps,
    }
  }

  private close(outcome: SpliceTruth['outcome'], cause: SpliceTruth['cause']): void {
    if (!this.open) this.beginTruth()
    const truth = { ...this.open!, outcome, cause }
    this.truths.push(outcome === 'missed' ? { ...truth, flags: [] } : truth)
    this.open = undefined
  }

  /** The other spindle runs; the crew turns to the one that ran. */
  private changeRoll(): void {
    const keyedInM = this.rolls[this.waiting]!.makeup.outerDiameterM
    this.active = this.waiting
    this.plan = this.script.next()
    this.wasPressed = false
    this.didPlannedStop = false
    this.trigger.clear()
    // People key in the full roll from its ticket, some per cent off.
    this.computed?.preset(keyedInM * 1.03)
    this.triggerM = this.readings.running = this.computed?.valueM ?? this.readings[this.active]
    this.crew.begin(this.plan.readyAfterS, this.plan.trouble === 'not_ready' || this.plan.trouble === 'late')
  }

  private moveWeb(dtS: number): void {
    const wishM = this.splicer.unwindSpeedMps * dtS
    const fromRollM = this.running.take(wishM)
    this.splicer.unwindSpeedMps = fromRollM / dtS
    this.webTakenM += fromRollM
    let throughM = fromRollM
    if (this.festoon) {
      throughM = this.festoon.pass(fromRollM, this.drive.speedMps * dtS)
      this.festoon.watchSwitch()
    } else if (this.splicer instanceof FlyingPaster && this.splicer.isPasting) {
      const pastedM = this.rolls[this.waiting]?.take(wishM) ?? 0
      this.webTakenM += pastedM
      this.doubleWebM += pastedM
    }
    this.drive.speedMps = Math.min(this.drive.speedMps, throughM / dtS)
    this.lineLengthM += throughM
  }

  /** Interlocks that stop the line. */
  private watch(): void {
    if (!this.shift.isProducing) return
    if (this.breakAtM !== undefined && this.lineLengthM >= this.breakAtM) {
      this.breakAtM = undefined
      this.hasWebBreak = true
      this.close('failed', 'web_break')
      this.shift.stop('web_break', this.random.between(...STAND_S), this.drive)
    } else if (this.festoon?.hasTripped) {
      this.festoon.disarmSwitch()
      this.close('failed', 'cycle_too_slow')
      this.shift.stop('buffer_empty', this.random.between(...STAND_S), this.drive)
    } else if (this.running.diameterM <= this.recipe.web.coreDiameterM + this.recipe.endOfRollM) {
      this.close('missed', this.plan.trouble === 'not_ready' ? 'no_new_roll' : 'ran_out')
      this.shift.stop('run_out', this.random.between(...STAND_S), this.drive)
    }
  }

  private makeRoll(webM: number): Roll {
    const { web, splicer } = this.recipe
    const caliperM = web.labelCaliperM * web.caliperScale * (1 + this.random.normal(web.rollSpread))
    this.rollNumber++
    return new Roll({
      id: `${this.recipe.rollPrefix}-${String(this.rollNumber).padStart(5, '0')}`,
      material: web.material,
      coreDiameterM: web.coreDiameterM,
      outerDiameterM: diameterWithWebM(splicer.spliceDiameterM, webM, caliperM),
      caliperM,
      caliperDrift: this.random.between(-web.rollDrift, web.rollDrift),
      outOfRoundM: web.outOfRoundM * this.random.between(0.6, 1.2),
    })
  }
}
