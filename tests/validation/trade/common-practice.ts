/** What everybody in the trade takes for granted, and nobody publishes. */
export const COMMON_PRACTICE = 'common practice, no source';
