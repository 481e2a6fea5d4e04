/** The part of the config's schema that says where values come from, and how secrets are named. */
import Type from 'typebox'
import { choice, optional, quantityOr, section, text } from './schema-parts.ts'

export const envName = (what: string) =>
  optional(
    text(`Name of the environment variable that holds ${what}.`, {
      pattern: '^[A-Za-z_][A-Za-z0-9_]*$',
      examples: ['LASTWRAP_PASSWORD'],
    }),
  )
export const secretFile = (what: string) =>
  optional(
    text(`File that holds ${what}; a relative path starts at the config file.`, { examples: ['/run/secrets/plc'] }),
  )

export const user = optional(
  section(
    {
      name: text('Name of the user.'),
      password_env: envName('the password'),
      password_file: secretFile('the password'),
    },
    { description: 'Who signs in. The password itself never stands in this file. Left out: anonymous.' },
  ),
)

const sourceCommon = {
  time: optional(
    choice(
      ['source', 'server', 'arrival'],
      "Whose clock stamps a sample: the source's, the server's, or this machine's.",
      {
        default: 'source',
      },
    ),
  ),
  stale_after: quantityOr('duration', '10 s', 'No proof of life for so long makes every signal of the source stale.'),
  keep_alive: quantityOr('duration', '2 s', 'How often the peer has to prove that it lives.'),
  user,
}

const security = section({
  policy: optional(
    choice(
      ['Basic256Sha256', 'Aes128_Sha256_RsaOaep', 'Aes256_Sha256_RsaPss', 'None', 'none'],
      'Security policy. Default Basic256Sha256; with mode none it is none too.',
    ),
  ),
  mode: optional(choice(['sign_and_encrypt', 'sign', 'none'], 'Default sign_and_encrypt; none has to be written out.')),
})

export const opcua = section(
  {
    kind: Type.Literal('opcua'),
    endpoint: text("The server's endpoint.", { pattern: '^opc\\.tcp://', examples: ['opc.tcp://127.0.0.1:4840'] }),
    security: optional(
      Type.Unsafe<'none' | Type.Static<typeof security>>({
        anyOf: [{ type: 'string', enum: ['none'] }, security],
        description: 'How the connection is secured, or none: an open connection has to be written out.',
        default: {},
      }),
    ),
    sampling: quantityOr('duration', '100 ms', 'How often the server looks at each tag.'),
    publishing: quantityOr('duration', '200 ms', 'How often the server sends what changed.'),
    ...sourceCommon,
  },
  { title: 'OPC UA server' },
)

export const mqtt = section(
  {
    kind: Type.Literal('mqtt'),
    url: text('The broker. mqtts: is MQTT over TLS.', {
      pattern: '^(mqtts?|wss?)://',
      examples: ['mqtts://broker.alder-quay.example:8883'],
    }),
    ca_file: optional(
      text(
        'PEM file of the authority that signed the certificate of the broker; a relative path starts at the config file.',
      ),
    ),
    client_id: optional(text('Client id at the broker. Left out: one is made once and kept in the data directory.')),
    will: optional(
      section(
        {
          topic: text("Topic of the publisher's last will."),
          offline: optional(text('Payload that says the publisher is gone.', { default: 'offline' })),
        },
        { description: 'How the broker says that the publisher behind it died: every tag then has quality bad.' },
      ),
    ),
    max_payload: quantityOr(
      'data_size',
      '256 kB',
      'Largest payload that is looked at; a larger one is counted and ignored.',
    ),
    ...sourceCommon,
  },
  { title: 'MQTT broker' },
)

export type OpcUaFile = Type.Static<typeof opcua>
export type MqttFile = Type.Static<typeof mqtt>
