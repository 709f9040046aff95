/** What stands for a source where the trade has a habit but nothing published was found. */
export const COMMON_PRACTICE = 'common practice, no source';
