/** Version of the software, printed with every answer; a test holds it against package.json. */
export const softwareVersion = '0.1.0';
