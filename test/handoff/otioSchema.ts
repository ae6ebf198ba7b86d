/**
 * OpenTimelineIO's serialized schemas as a JSON Schema, for those versions that are written. From memory of the
 * format's published description: no reader of the format is in the registries that tests reach.
 */
const object = { type: 'object' };
const of = (name: string, properties: object) => ({
  type: 'object',
  required: ['OTIO_SCHEMA', ...Object.keys(properties)],
  additionalProperties: false,
  properties: { OTIO_SCHEMA: { const: name }, ...properties },
});
const ref = (name: string) => ({ $ref: `#/$defs/${name}` });
const item = {
  name: { type: 'string' },
  metadata: object,
  source_range: { anyOf: [ref('TimeRange'), { type: 'null' }] },
  effects: { type: 'array', maxItems: 0 },
  markers: { type: 'array', items: ref('Marker') },
  enabled: { type: 'boolean' },
};
const COLOURS = ['PINK', 'RED', 'ORANGE', 'YELLOW', 'GREEN', 'CYAN', 'BLUE', 'PURPLE', 'MAGENTA'];

export const OTIO_SCHEMA = {
  $ref: '#/$defs/Timeline',
  $defs: {
    RationalTime: of('RationalTime.1', { rate: { type: 'number' }, value: { type: 'number' } }),
    TimeRange: of('TimeRange.1', {
      start_time: ref('RationalTime'),
      duration: ref('RationalTime'),
    }),
    Marker: of('Marker.2', {
      name: { type: 'string' },
      metadata: object,
      color: { enum: [...COLOURS, 'BLACK', 'WHITE'] },
      marked_range: ref('TimeRange'),
      comment: { type: 'string' },
    }),
    ExternalReference: of('ExternalReference.1', {
      name: { type: 'string' },
      metadata: object,
      available_range: ref('TimeRange'),
      available_image_bounds: { type: 'null' },
      target_url: { type: 'string', minLength: 1 },
    }),
    Clip: of('Clip.2', {
      ...item,
      media_references: {
        type: 'object',
        required: ['DEFAULT_MEDIA'],
        additionalProperties: ref('ExternalReference'),
      },
      active_media_reference_key: { const: 'DEFAULT_MEDIA' },
    }),
    Track: of('Track.1', {
      ...item,
      kind: { enum: ['Video', 'Audio'] },
      children: { type: 'array', items: ref('Clip') },
    }),
    Stack: of('Stack.1', { ...item, children: { type: 'array', items: ref('Track') } }),
    Timeline: of('Timeline.1', {
      name: { type: 'string' },
      metadata: object,
      global_start_time: { anyOf: [ref('RationalTime'), { type: 'null' }] },
      tracks: ref('Stack'),
    }),
  },
};
