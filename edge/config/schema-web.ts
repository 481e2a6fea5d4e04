/** The part of the config's schema about the pages: where they are, who may see them, how the way to them is secured. */
import Type from 'typebox'
import { choice, optional, quantity, quantityOr, section, text } from './schema-parts.ts'

const tls = section(
  {
    certificate: optional(
      text('PEM file with the certificate and what leads to its authority, or self_made.', { default: 'self_made' }),
    ),
    key: optional(text('PEM file with its key, without a password. A relative path starts at the config file.')),
    hsts: optional(
      quantity(
        'duration',
        'So long browsers shall ask this name over https only (HSTS), for every port and program of that name. Left out: they are not told.',
        '30 d',
      ),
    ),
  },
  { description: 'Serves the pages over TLS (https). Changed files are taken over within a minute.' },
)

export const web = optional(
  section(
    {
      listen: optional(text('Address and port of the dashboard.', { default: '127.0.0.1:8420' })),
      without_sign_in: optional(
        choice(
          ['nothing', 'look', 'operate'],
          'What anybody may do who has not signed in. Default look where only this machine is listened to, else nothing; operate (acknowledge, ready, notes) is for such a machine only.',
        ),
      ),
      idle_lock: quantityOr(
        'duration',
        '15 min',
        'After so long without a touch a session may only look on until somebody signs in again.',
      ),
      tls: optional(tls),
      base_path: optional(
        text('Path below which a reverse proxy shows the pages.', {
          pattern: '^/[A-Za-z0-9._~-]+(/[A-Za-z0-9._~-]+)*$',
          examples: ['/lastwrap'],
        }),
      ),
      allowed_hosts: optional(
        Type.Array(text('A name.', { pattern: '^[A-Za-z0-9.:-]+$', examples: ['plant.example'] }), {
          default: [],
          description: "Further names under which the pages are opened, such as a reverse proxy's.",
        }),
      ),
      trusted_proxies: optional(
        Type.Array(text('An address or a range of them.', { examples: ['127.0.0.1', '10.1.2.0/24'] }), {
          default: [],
          description: 'Reverse proxies whose X-Forwarded-For, -Host and -Proto are believed; nobody else is.',
        }),
      ),
    },
    { default: {}, description: 'The dashboard.' },
  ),
)
