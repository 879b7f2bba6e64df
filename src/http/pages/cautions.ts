/** What every reader of wreck data must be told, one line each; local law and licensed practice decide. */
export const cautions: readonly { readonly word: string; readonly sentence: string }[] = [
  {
    word: 'Law',
    sentence:
      'Wreck and finds may be protected or owned; permits and reporting duties come from the competent authority. This tool gives no permission.',
  },
  {
    word: 'Location',
    sentence:
      'A precise position can lead looters to the site: share the generalised copy unless the authority agrees. A low-resolution map alone may not hide a site.',
  },
  {
    word: 'War graves and state vessels',
    sentence: 'A warship or state vessel may still belong to its flag state and may be a grave: its consent is needed.',
  },
  {
    word: 'Diving',
    sentence:
      'Nothing here is a dive plan, a tide table or a depth for safety; follow the dive supervisor and local rules.',
  },
  { word: 'Navigation', sentence: 'These layers are not a chart.' },
  {
    word: 'Conservation',
    sentence: 'Finds out of water decay at once; a conservator decides on lifting, storage and opening of concretions.',
  },
  {
    word: 'Fuel and cargo',
    sentence:
      'Fuel, oil and some cargoes contaminate divers, finds and the sea: have them assessed before disturbing them.',
  },
  {
    word: 'Ordnance',
    sentence:
      'Guns, shot, powder and shells may be live or loaded; do not open or heat them; call the competent authority.',
  },
  { word: 'Human remains', sentence: 'Stop and follow the procedure of the authority.' },
  {
    word: 'Statistics',
    sentence: 'A p-value is not an interpretation; dug area and recovery limit every result.',
  },
  {
    word: 'Accuracy',
    sentence: 'Absolute position is worse than relative position; do not overlay at a finer scale than the stated ±.',
  },
  {
    word: 'People',
    sentence: 'Divers’ names, hours and notes are personal data; publish role or initials, and hours only in sum.',
  },
  {
    word: 'Bathymetry',
    sentence: 'The licence of a depth model limits what may be published from it; read it before passing it on.',
  },
];

/** The line under every page. */
export const shortCaution =
  'Local law and licensed practice decide. No permission, no dive plan, no chart; positions are confidential until the authority agrees.';
