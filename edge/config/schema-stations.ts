/** The part of the schema that says where a joint matters after its splice, and what is judged of it there. */
import Type from 'typebox'
import { optional, quantity, quantityOr, section, text } from './schema-parts.ts'

export const stationKeys = {
  stations: optional(
    Type.Array(
      section({
        name: text('What people call it.'),
        distance: quantity('length', 'Web from the splice to there, without what the buffer holds.', '22 m'),
        takes_out: optional(
          Type.Boolean({
            default: false,
            description: 'The joint has to be taken out here, confirmed by reject_confirmed or by a tap.',
          }),
        ),
        confirm_within: quantityOr(
          'length',
          '20 m',
          'Where takes_out is true: not confirmed so far past the station, the joint is in the product.',
        ),
      }),
      { default: [], description: 'Where a joint may open or has to be taken out: stations along the web.' },
    ),
  ),
  side_lay: optional(
    section(
      {
        distance: quantityOr('length', '0 m', 'Web from the splice to the sensor of edge_offset.'),
        tolerance: quantityOr(
          'length',
          '1 mm',
          'By so much the new web may lie beside the old one, and off its place.',
        ),
      },
      { description: 'How the side-lay at a joint is judged, where edge_offset is mapped.' },
    ),
  ),
  register: optional(
    section(
      {
        distance: quantityOr('length', '0 m', 'Web from the splice to the sensor of register_error.'),
        repeat: quantity('length', 'Length of one repeat of the print or punching.', '305 mm'),
        tolerance: quantityOr('length', '0.5 mm', 'An error up to this is in register.'),
      },
      { description: 'Pre-printed or pre-punched webs, where register_error is mapped.' },
    ),
  ),
}
