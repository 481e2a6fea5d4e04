import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import type { UnwindConfig } from '../../edge/config/config.ts'
import { loadConfigText } from '../../edge/config/load.ts'
import { CARTON_TAGS } from '../../edge/demo/carton-tags.ts'
import type { PlantReady } from '../../edge/demo/plant.ts'
import { filledIn } from '../../edge/demo/prepare.ts'
import { PRESS_STEPS, PRESS_TAGS } from '../../edge/demo/press-tags.ts'
import { RECIPES } from '../../edge/demo/recipes.ts'

const template = readFileSync(new URL('../../config/demo.yaml', import.meta.url), 'utf8')
const PLANT: PlantReady = {
  ready: true,
  opcua: 'opc.tcp://127.0.0.1:51234',
  mqtt: 'mqtt://127.0.0.1:51235',
  user: 'monitor',
  opcuaPasswordFile: '/tmp/a folder/with: odd # letters/opcua-password',
  mqttPasswordFile: '/tmp/mqtt-password',
  certificateFile: '/tmp/certificate.pem',
}

describe('the demo config', () => {
  it('loads as it stands, without a warning', () => {
    const { config, warnings } = loadConfigText(template, 'config/demo.yaml')
    expect(warnings).toEqual([])
    expect(config.unwinds.map(({ id }) => id)).toEqual(RECIPES.map(({ id }) => id))
  })

  it('takes the addresses and files of a plant that runs, and loses nothing else', () => {
    const text = filledIn(template, PLANT)
    const filled = loadConfigText(text, '/tmp/demo.yaml').config
    expect(filled.sources).toMatchObject({
      plant_plc: { endpoint: PLANT.opcua, user: { name: 'monitor', password: { file: PLANT.opcuaPasswordFile } } },
      hall_broker: { url: PLANT.mqtt, user: { name: 'monitor', password: { file: PLANT.mqttPasswordFile } } },
    })
    expect(filled.unwinds).toEqual(loadConfigText(template, '/tmp/demo.yaml').config.unwinds)
    expect(text).toContain('# 2000 counts are empty, 22000 full.')
  })

  it('maps every step number of the splicer', () => {
    const press = loadConfigText(template, 'demo.yaml').config.unwinds[0]!
    const step = press.signals.find(({ signal }) => signal === 'splice_step')
    expect(Object.keys(step!.values!).map(Number).toSorted()).toEqual(Object.values(PRESS_STEPS).toSorted())
  })

  it('leaves tags of the plant unmapped, so that there is something to browse', () => {
    const mapped = new Set(template.match(/ns=2;s=[\w.]+/g))
    const served = [...PRESS_TAGS, ...CARTON_TAGS].map(({ path }) => `ns=2;s=${path}`)
    expect([...mapped].filter((address) => !served.includes(address))).toEqual([])
    expect(served.length - mapped.size).toBeGreaterThan(5)
  })
})

/** Where a data sheet's value stands beside the plant's own: as share of it. */
const pairs = (unwind: UnwindConfig): [name: string, sheet: number, plant: number][] => {
  const recipe = RECIPES.find(({ id }) => id === unwind.id)!
  const found: [string, number, number][] = [
    ['caliper', unwind.roll.nominalCaliperM, recipe.web.labelCaliperM * recipe.web.caliperScale],
    ['path', unwind.splicer.pathLengthM, recipe.pathM],
  ]
  if (recipe.splicer.method === 'zero_speed' && recipe.festoon && unwind.buffer) {
    found.push(
      ['stop', unwind.splicer.stopS, recipe.splicer.stopS],
      ['deceleration', unwind.splicer.decelerationMps2, recipe.splicer.decelerationMps2],
      ['acceleration', unwind.splicer.accelerationMps2, recipe.splicer.accelerationMps2],
      ['overspeed', unwind.splicer.overspeed, recipe.splicer.overspeed],
      ['capacity', unwind.buffer.calibration.fullStoredM, recipe.festoon.strands * recipe.festoon.travelM],
    )
  }
  return found
}

describe.each(loadConfigText(template, 'demo.yaml').config.unwinds.map((unwind) => [unwind.id, unwind] as const))(
  'the data sheet of %s',
  (_id, unwind) => {
    it.each(pairs(unwind))('has a %s near the plant, but not its very value', (_name, sheet, plant) => {
      expect(Math.abs(sheet / plant - 1)).toBeLessThan(0.15)
      expect(sheet).not.toBeCloseTo(plant, 9)
    })

    it('has the core and the splice diameter that the plant has', () => {
      const recipe = RECIPES.find(({ id }) => id === unwind.id)!
      expect(unwind.roll.coreDiameterM).toBeCloseTo(recipe.web.coreDiameterM, 6)
      expect(unwind.splicer.spliceDiameterM).toBeCloseTo(recipe.splicer.spliceDiameterM, 3)
    })
  },
)
